"""The checks that a rule base must pass as a whole."""
