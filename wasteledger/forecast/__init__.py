"""When a container will be full, and when it should leave; nothing is loaded here.

Modules: `rates` (how often traps are swapped), `passage` (first passage of a mark), `draws` (evenly spread draws of
what is not known), `fill` (the outlook of a container), `words` (what it rests on), `working_time` (working days).
"""
