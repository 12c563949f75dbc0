"""The classroom: drills are set, sat, handed in and marked, alone or by a class in the browser."""
