"""Thin commands: read, plan, show."""
