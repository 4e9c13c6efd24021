"""What the command line can do, one file for each errand."""
