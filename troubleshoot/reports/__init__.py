"""On paper: cases written up, decision trees to take to the car, plots of calculations."""
