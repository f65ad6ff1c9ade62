"""The folder of rules read into typed entries."""
