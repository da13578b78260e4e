"""The finished programme: which readings play, in which order, split where a level asks for it."""
