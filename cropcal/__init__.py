"""Plan a small lamp-lit growing space: light, cost, and a succession sowing calendar."""
