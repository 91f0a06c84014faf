"""The use cases, one function each; transactions begin and end here. Nothing is loaded here."""
