"""A batch: from lines to answers, and the sharing out over processes."""
