"""Facts from outside and what is said of them."""
