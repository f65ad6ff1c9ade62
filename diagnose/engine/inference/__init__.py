"""The exact chances of the causes, given what was found."""
