"""What type checkers say of programs that use the library: nothing where they are right, each fault where it stands."""
