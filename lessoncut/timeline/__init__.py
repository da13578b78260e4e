"""The exact edit list, the gaps in it, and the map between take time and lesson time. ``layout.lay_out`` makes it."""
