"""What the trade agrees on: scales, shapes, stones, arithmetic. No rules, no files, no web."""
