"""The proof of the trees in closed loop: random cases, policies that walk them, and what comes of it in figures."""
