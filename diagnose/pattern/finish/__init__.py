"""What is done once after a whole list of operations: seams walked, match marks set again, corners squared."""
