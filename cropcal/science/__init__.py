"""Pure functions from the published literature: numbers and arrays in and out, never a record."""
