"""The door of the workroom: who comes in, how, and for how long."""
