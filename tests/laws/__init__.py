"""The laws of the algebra, each a test with the law's name."""
