"""Weather: files read and checked, the world grid, and the generator of possible years."""
