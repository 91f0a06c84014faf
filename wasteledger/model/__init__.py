"""Value types: traps, streams, containers, entries, and the standing that is folded from them."""
