"""The week in days and tickets: what the answers of the core mean for a studio. Plain Python."""
