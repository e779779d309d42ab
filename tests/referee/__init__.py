"""A second, slower way to the same numbers: scalar laws and halving, no Newton."""
