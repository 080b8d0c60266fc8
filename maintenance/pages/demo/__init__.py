"""The demo: an invented household with some years behind it, told anew for any day.

`story` reads its files, `telling` tells them to the services day by day (`rigs`, `work`
and `diary` are its parts), `providing` has the household and its login at hand.
"""
