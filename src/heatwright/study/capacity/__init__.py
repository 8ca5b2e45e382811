"""What a plant can do at most, need by need, over the air outside: the best of its modes against the load."""
