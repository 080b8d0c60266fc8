"""What follows: the page after work was saved, through whatever door."""
