"""The parts of screens: each shows one record and speaks by its own message."""
