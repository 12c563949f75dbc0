"""The screens: read input, drive the case, show the result."""
