"""Commands that show the program itself: its proof and its guide"""
