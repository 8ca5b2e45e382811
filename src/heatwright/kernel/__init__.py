"""Arrays in, arrays and a status out: the compiled march.  Knows no plant, no file and no unit text."""
