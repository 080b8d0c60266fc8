"""Facts behind a standing, worded: plain sentences that a user can check by hand."""
