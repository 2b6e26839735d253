"""Comparing two versions of rule packs: what changed for whom, decided on the rules' meaning, and the version gate.

From the bottom: `change` (one change as a value), `axes` and `regions` (the space of conditions in cells), `topics` and
`demands` (what rules demand in a cell, by the kernel's algebra), `telling` (in words), `meaning` (what changed),
`wording` (what changed in words only), `revisions` and `sources` (files, folders, git), `comparison` (pack by pack),
`gate` (versions and the change log), `reports` (text, Markdown, JSON).
"""
