"""What the program computes held against what others measured or worked out"""
