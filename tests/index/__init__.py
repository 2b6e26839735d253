"""The compiled evaluation against the reference evaluation, which says what is right.

`drawing` adds measurements to the cases of `tests.reference.generate`, and rules that read them to its packs;
`comparing` holds the two ways against each other.
"""
