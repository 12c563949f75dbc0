"""What a practitioner knows, read from YAML: load, validate, index, cache, lint, compile for reasoning."""
