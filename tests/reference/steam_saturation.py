"""Writes steam_saturation.csv: the saturation line of steam by a reference library.

Library: `iapws` 1.5.5 (Python package index), function `iapws.iapws97._PSat_T`, which implements region 4 of
IAPWS R7-97(2012). Run: python3 -m pip install iapws==1.5.5 && python3 steam_saturation.py > steam_saturation.csv
"""

from iapws.iapws97 import _PSat_T, _TSat_P

print("celsius,pascal")
for tenths in [*range(10, 1000, 50), *range(1000, 1400, 5), *range(1400, 3700, 40)]:
    celsius = tenths / 10
    megapascal = _PSat_T(celsius + 273.15)
    assert abs(_TSat_P(megapascal) - celsius - 273.15) < 1e-6
    print(f"{celsius},{megapascal * 1e6!r}")
