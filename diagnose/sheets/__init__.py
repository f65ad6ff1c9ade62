"""What is shown: terminal, page, drawing, file."""
