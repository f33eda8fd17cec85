"""The rules, a subject a file. `variants.proof.registry` finds them."""
