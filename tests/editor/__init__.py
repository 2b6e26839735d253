"""The schemas as a person meets them: in an editor with a YAML language server."""

from pathlib import Path

from tirerules.data import folder

#: The schema as an editor would be given it.
SCHEMA = Path(str(folder("schemas"))) / "rulepack.schema.json"
#: Where the settings of the editor say that packs lie; every other file has to name its schema itself.
SETTLED = "settled"
