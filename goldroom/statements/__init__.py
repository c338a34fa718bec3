"""What can be said in the gold room: one class per kind of statement."""
