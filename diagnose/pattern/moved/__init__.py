"""What is carried, trued and drawn again when paper moves."""
