"""Schema of the read tables; their rows can be thrown away and folded again."""
