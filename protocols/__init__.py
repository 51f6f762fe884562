"""Rules and science: pure functions over frozen values, without clock, database or web."""
