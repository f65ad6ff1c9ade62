"""What is said: findings, amounts, steps and entries in words."""
