"""Pure functions of SI floats or arrays, one file a handbook chapter."""
