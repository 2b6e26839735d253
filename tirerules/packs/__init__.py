"""Rule packs: their values, how they are read, checked against the schema, found and chosen."""
