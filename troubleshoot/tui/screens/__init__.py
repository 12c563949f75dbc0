"""The screens, one module each; a screen reads input, calls the investigation and shows the result."""
