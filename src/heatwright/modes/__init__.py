"""The atlas: every mode a plant's parts allow, and what each mode does."""
