"""Records made by earlier releases of the library, and the packs they rest on, kept so that they go on replaying.

`records-1.0.0.jsonl` holds 300 decisions as release 1.0.0 wrote them, one a line, and `packs-1.0.0.zip` the 72 packs
that it shipped, byte for byte: nothing else is needed to replay them, no history and no network. Neither file is ever
edited: a record is what was said on its day. `making` draws the cases and made both files.
"""
