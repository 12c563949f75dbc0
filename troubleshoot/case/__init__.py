"""A case: a list of events, a state folded from them, and proposals for what to do next."""
