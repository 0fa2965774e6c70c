"""What is dissolved in the water, what layers and doses do to it, and what restores a layer."""
