"""Searches for short layouts; each can be taken up again and offers what it finds to the race."""
