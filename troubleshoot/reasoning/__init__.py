"""What is believed now and what is worth doing next: pure functions over small records, no I/O, no clock."""
