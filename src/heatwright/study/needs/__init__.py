"""What a car needs to do, with amounts and clocks: the sheet of needs, its figures, and how a plant answers it."""
