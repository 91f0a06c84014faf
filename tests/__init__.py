"""The tests of wasteledger."""
