"""What is found on the straightened picture: pieces cut or drawn, lines within them, and outlines made of both."""
