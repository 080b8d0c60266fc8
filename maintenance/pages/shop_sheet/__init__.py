"""What a shop is asked to do, on one sheet: findings, due work, figures, the path of a
guide."""
