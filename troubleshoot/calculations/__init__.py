"""The trade's calculations: pure functions, SI inside, each with unit, range, source and worked example."""
