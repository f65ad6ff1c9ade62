"""What a command asks or reads of her: the try-on by lines, files of answers, pattern files."""
