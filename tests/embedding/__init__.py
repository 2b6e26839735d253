"""Programs in other languages and frames that use the library; every shop and ticket in them is invented."""
