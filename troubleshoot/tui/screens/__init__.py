"""The screens, one module each; a screen reads input, drives the case and shows the result."""
