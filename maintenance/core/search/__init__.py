"""Finding by words: a text as terms, what was asked, and how well a thing answers it.

A text becomes slots (`terms`): one for each of its words, in one form. What somebody
types becomes groups of terms (`asked`), one for each of its words. A shelf of things
ranks them (`shelf`) by how much of what was asked is in one of a thing's names.
"""
