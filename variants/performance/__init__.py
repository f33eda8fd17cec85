"""What is heard: one performance of a score, the string that sounds it, audio files."""
