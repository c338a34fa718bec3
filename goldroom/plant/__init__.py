"""What the plant's control system hands over: cycle counts, metered streams."""
