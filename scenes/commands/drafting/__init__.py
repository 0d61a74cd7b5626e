"""How `firstthrow new` comes to its answers: questions, pipes, drawings"""
