"""What pages and the API share: who is asking, what they may read, signing."""
