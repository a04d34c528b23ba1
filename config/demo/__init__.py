"""The demo: an invented city loaded through the workflow functions, the main job walked once, and the pages served."""
