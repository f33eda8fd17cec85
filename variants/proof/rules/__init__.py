"""The rules, one a file. `variants.proof.registry` finds them."""
