"""The gold room: what is said in it, what follows from that, and what is shown."""
