"""How much the tests notice: small faults, one at a time, in a copy."""
