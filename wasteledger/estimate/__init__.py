"""What stands in a container, as a value with its uncertainty; nothing is loaded here.

Modules: `prior` (starting values and their common error), `containers` (the mass standing in a container), `coverage`
(from a standard uncertainty to a 95 % interval), `rounding` (digits and words), `fullness` (level, mass and pieces
against their limits), `cascade` (what each stage of the suction line holds back).
"""
