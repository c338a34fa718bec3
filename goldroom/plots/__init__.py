"""Plots: each one drawing for page and paper, with its table and its sentence."""
