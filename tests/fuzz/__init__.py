"""Every address with nonsense: no traceback, and no change in another household."""
