"""Reading, checking and compiling the folder of rules."""
