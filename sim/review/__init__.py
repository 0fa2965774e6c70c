"""What a design says about itself before anything is run: figures beside the bands that are usual, and what to do."""
