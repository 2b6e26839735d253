"""The evaluator: what the rules of some places say of a case, stated once for one case and for columns of cases.

In the order in which a case goes through it: `programs` finds the compiled rules of its places, activity and day
(`program`, with a `tables` entry for each fact); `subjects` says what is known of the tire, of each injury and of each
repair (`places`, `geometry`, `pairs`, `tread` work out what follows from measurements); `evaluator` looks all of it up
and judges it by the masks of `kernel` and by the engine's own rules (`own_rules`); `explanation`, `limits`,
`questions`, `notices` and `resale` give from the same masks what else a decision says.
"""
