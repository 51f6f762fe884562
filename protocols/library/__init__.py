"""The library of protocols: what each says, what is unsafe about one, and its clocks."""
