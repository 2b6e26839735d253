"""Plainly bad tires, swept over every place, act and class: none of them may ever be called within the limits.

`tires` holds sound tires, `ways` what makes one bad (a row of that table is a `way`), `rows` multiplies both out,
`judging` decides each row and its lawful twin, `put_back` undoes what once mended an unsafe answer, to show that the
sweep would have found it.
"""
