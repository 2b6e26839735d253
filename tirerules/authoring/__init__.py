"""Tools for people who write rule packs; nothing outside the command line imports them."""
