"""What stands in a container, as a value with its uncertainty; nothing is loaded here.

Modules: `prior` (starting values and their common error), `containers` (the mass standing in a container), `coverage`
(from a standard uncertainty to a 95 % interval), `rounding` (digits and words), `fullness` (level, mass and pieces
against their limits), `volumes` and `level` (what went in, and how far it fills a container), `increments` and
`learning` (what weighings say, and teach of masses), `volume_increments` and `volume_learning` (the same of levels and
volumes), `regression` (that learns both), `put_in`, `splitting`, `draws` and `content` (amalgam, mercury and silver in
a container), `agreement` (what was received against what left), `cascade` (what each stage of the suction line holds
back), and the second opinion: `procedures`, `capture`, `shares`, `trap_masses`, `reconcile` and `stages` (what the
stages should have caught), `gaps` and `rhythm` (swaps not recorded), `weighed` (weighings against counts), `balance`
and `balance_words` (all of it together).
"""
