"""An invented wholesaler and its shop, played through the doors relative to now."""
