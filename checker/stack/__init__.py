"""A stack of submissions: read once, kept in one file, judged again whenever something changes."""
