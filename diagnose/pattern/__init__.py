"""The flat pattern: outline, measuring, operations, readers."""
