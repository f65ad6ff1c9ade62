"""Matching rules, ranking causes, choosing the next question."""
