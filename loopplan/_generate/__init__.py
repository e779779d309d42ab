"""Writes what follows from the declarations, so that nothing is typed twice.

``python -m loopplan._generate`` writes the catalogue that `explain` reads, the JSON schema
for editors, the reference pages and the unit factors; ``--check`` names those that are stale.
"""
