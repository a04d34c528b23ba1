"""What the program does in a second, with what this machine can do measured in the same run."""
