"""A rule set as data: its format, where it is kept, and how it becomes frozen tables."""
