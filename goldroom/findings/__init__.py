"""Findings that need more than one entry: one pure function for each rule."""
