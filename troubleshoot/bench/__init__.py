"""The bench: the virtual engine answers the checks of the trees, and its complaints become their concerns."""
