"""What is cut from cloth: the cutting list, allowances, bones and straps."""
