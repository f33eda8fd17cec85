"""How fitted weights were made, on data that are not part of the project."""
