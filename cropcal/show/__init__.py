"""A plan made visible: tables, sheets, calendar events, pictures. Computes nothing."""
