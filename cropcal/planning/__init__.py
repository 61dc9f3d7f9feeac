"""Records to a plan: light budget, candidate batches, programme, solve, bill."""
