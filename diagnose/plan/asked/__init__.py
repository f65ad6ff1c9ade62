"""What is asked and settled before a plan stands: the next questions, what parts the choices, what a miss reopens."""
