"""Migrations of the tables of the faces."""
