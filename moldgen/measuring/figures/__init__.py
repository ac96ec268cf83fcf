"""A file of drawings for each family that has some, named like it: `figures(letters)`, and `ADVICE` that it needs."""
