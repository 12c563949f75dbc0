"""Cases on disk: one SQLite row an event, durable before anything on the screen says so."""
