"""The algebra of strictness: pure, exact, knowing nothing of rules, tires or files."""
