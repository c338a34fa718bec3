"""Long runs, asked for by name and never collected by pytest."""
