"""Fault exercises on the virtual engine, their marking, and the proof of the trees in closed loop."""
