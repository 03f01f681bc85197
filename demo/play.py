"""Plays the demo. Nothing to play yet."""
