"""Text to (records, problems): the only layer that opens a user's file."""
