"""HTTP: the one way in and the one way out. Nothing here knows the trade."""
