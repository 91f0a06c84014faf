"""When a container will be full, and when it should leave; nothing is loaded here.

Modules: `rates` (how often traps are swapped), `gauges` (what a container measures, and what comes to it), `contents`
and `draws` (what is not known, drawn evenly), `passage` (first passage of a mark), `compound` (pieces that come
together), `fill` (the outlook of a container), `words` (what it rests on), `windows` (the fewest pickup days),
`working_time` (working days).
"""
