"""Files of supplier rows: read, judged row by row, and written again with what was found."""
