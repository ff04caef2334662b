"""Writes the upper half of code page 437 as Python's codec has it.

python3 tests/layouts/cp437.py > tests/layouts/cp437.csv
"""

print("byte,scalar")
for byte in range(128, 256):
    print(f"{byte},{ord(bytes([byte]).decode('cp437')):04X}")
