"""The stored form of a pattern: read strictly, checked, and written."""
