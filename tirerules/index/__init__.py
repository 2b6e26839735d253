"""Rules compiled to bits: a second, quick way to the answers of `tirerules.deciding`, which is the reference.

For one place, activity, day and reading, every rule is one bit, and every value of a fact one number that says of all
rules at once which of them it takes out, leaves open or fails. Deciding is then a handful of ORs. Nothing here is a
semantics of its own: whatever does not fit is left to the reference, and a differential test holds the two equal.

The modules that a first decision needs import nothing but builtins, because start-up time is counted in milliseconds.
"""
