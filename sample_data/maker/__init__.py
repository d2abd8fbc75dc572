"""The pieces that make the sample property: land, trees, stems, plots, photo, files."""
