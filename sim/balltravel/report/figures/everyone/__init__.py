"""Figures for everyone, narrow enough for a phone, and how they come on a page."""
