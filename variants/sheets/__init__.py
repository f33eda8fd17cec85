"""What a pupil gets in the hand: engraving, handout, neck map, sound."""
