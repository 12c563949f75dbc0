"""The screens: read input, call the investigation, show the result."""
