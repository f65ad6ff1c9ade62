"""What is done with a case, by whichever door she comes in: a try-on worked out, a step drawn, a sheet made."""
