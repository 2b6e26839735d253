"""The tests: laws of the algebra, published figures, an independent oracle, and every promise of the README."""
