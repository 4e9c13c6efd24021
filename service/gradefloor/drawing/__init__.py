"""Drawings of stones and rings as SVG: pure functions from measures to text, always the same bytes."""
