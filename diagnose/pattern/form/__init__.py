"""The stored form of a pattern: read strictly, checked, and written; and the table of points measured off paper."""
