"""What a case says about itself: findings, assumed constants, what was mended."""
