"""A second, slow way to decide a case, and a generator of cases to compare both ways on.

The oracle imports nothing of the library and shares no table, parser or algebra with it, so that a mistake has to be
made twice to go unseen. It is written to be read beside the semantics, one rule at a time, and not to be fast.
"""
