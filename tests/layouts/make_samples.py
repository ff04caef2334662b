"""Writes the samples of the shipped layouts: the same invented cycles as a strip of each printer and as neutral text.

    python3 tests/layouts/make_samples.py

It shares no code with loadbook: each strip is written by a function of its own below, and the neutral text by one
function from the grammar in grammars/cycle-printout.abnf. A test holds what is read from the one to what is read from
the other. The hospital, its units and its staff are invented.
"""

import datetime
import pathlib

ROOT = pathlib.Path(__file__).resolve().parents[2] / "samples" / "layouts"

PASCAL = {"Pa": 1.0, "kPa": 1000.0, "mbar": 100.0, "bar": 1e5, "mTorr": 101325 / 760000, "psi": 6894.757, "inHg": 3386.389}
AMBIENT = 101325.0


def clock(second):
    second %= 86400
    return f"{second // 3600:02}:{second // 60 % 60:02}:{second % 60:02}"


class Cycle:
    def __init__(self, start, **fields):
        self.start = start  # datetime
        self.fields = fields
        self.items = []
        self.ended = None
        self.outcome = None
        self.leak = None
        self.consumables = []
        self.total = False

    @property
    def second(self):
        return self.start.hour * 3600 + self.start.minute * 60 + self.start.second

    def stage(self, at, name, limits=(), pulses=None):
        self.items.append(("stage", at, name, list(limits), pulses))

    def reading(self, at, *values):
        self.items.append(("reading", at, list(values)))

    def event(self, at, text):
        self.items.append(("event", at, text))

    def alarm(self, at, cause, words):
        self.items.append(("alarm", at, cause, words))

    def n_readings(self):
        return sum(item[0] == "reading" for item in self.items)


def pressure(pascal, unit, decimals, gauge=False):
    value = (pascal - (AMBIENT if gauge else 0)) / PASCAL[unit]
    return ("pressure", f"{value:.{decimals}f}", unit, "gauge" if gauge else "")


def temperature(celsius, unit="C", decimals=1):
    value = celsius if unit == "C" else celsius * 1.8 + 32
    return ("temperature", f"{value:.{decimals}f}", unit, "")


def plain(kind, value, unit, decimals=1):
    return (kind, f"{value:.{decimals}f}", unit, "")


def said(value):
    kind, number, unit, datum = value
    return f"{kind} {number} {unit}{' ' + datum if datum else ''}"


def neutral(cycle, encoding="utf-8"):
    lines = ["loadbook printout 1"]
    order = ["unit", "serial", "software", "place", "zone", "process", "purpose", "program", "counter", "load", "operator"]
    for key in order:
        if key in cycle.fields:
            lines.append(f"{key}: {cycle.fields[key]}")
    lines.append(f"started: {cycle.start:%Y-%m-%d %H:%M:%S}")
    for kind, lot, expiry, use in cycle.consumables:
        line = f"consumable: {kind}, lot {lot}, expiry {expiry}"
        if use:
            line += f", use {use[0]} of {use[1]}"
        lines.append(line)
    for item in cycle.items:
        at = clock(cycle.second + item[1])
        if item[0] == "stage":
            line = f"stage: {item[2]}, at {at}"
            for limit in item[3]:
                line += f", limit {limit}"
            if item[4]:
                line += f", pulses {item[4]}"
            lines.append(line)
        elif item[0] == "reading":
            lines.append(f"{at} " + ", ".join(said(value) for value in item[2]))
        elif item[0] == "event":
            lines.append(f"event: {at}, {item[2]}")
        else:
            lines.append(f"alarm: {at}, {item[2]}, {item[3]}")
    if cycle.leak:
        lines.append(f"leak: {cycle.leak[0]}, limit {cycle.leak[1]}")
    if cycle.ended is not None:
        lines.append("ended: " + clock(cycle.second + cycle.ended))
        if cycle.total:
            lines.append(f"total: {clock(cycle.ended)}, readings {cycle.n_readings()}")
    if cycle.outcome:
        word, stage, cause = cycle.outcome
        lines.append("outcome: " + word + (f", stage {stage}" if stage else "") + (f", cause {cause}" if cause else ""))
    lines.append("end")
    return "\n".join(lines) + "\n"


# The courses of the cycles: what each process does, in pascal and degrees Celsius.

def steam_course(cycle, p, t, hold=True, limits=True, stop=None):
    """A steam cycle. `p` and `t` write a value as the printer does; `stop` names the stage in which it stops."""
    cycle.stage(8, "condition", pulses=4 if limits else None)
    for n, (pascal, celsius) in enumerate([(12400, 61.0), (98000, 99.4), (13100, 72.8), (201300, 120.6)]):
        cycle.reading(68 + 90 * n, p(pascal), t(celsius))
    if stop == "condition":
        return 420
    bounds = ["temperature 134.0 C min", "temperature 137.0 C max", "duration 3.0 min min"] if limits is True else (limits or [])
    cycle.stage(580, "expose", bounds)
    for n in range(4):
        cycle.reading(640 + 60 * n, p(311200 + 700 * n), t(134.6 + 0.1 * n))
    cycle.stage(885, "exhaust")
    cycle.reading(945, p(104800), t(101.9))
    cycle.stage(1010, "dry")
    for n in range(3):
        cycle.reading(1070 + 180 * n, p(7200 - 350 * n), t(88.0 - 3.3 * n))
    cycle.stage(1700, "vent")
    cycle.reading(1730, p(99800), t(71.3))
    return 1765


def leak_course(cycle, p):
    cycle.stage(5, "evacuate")
    cycle.reading(305, p(4800))
    cycle.stage(310, "settle")
    cycle.reading(610, p(5010))
    cycle.stage(610, "hold")
    cycle.reading(1210, p(5530))
    return 1260


def plasma_course(cycle, p, t, c, w, limits=(), stop=None):
    cycle.stage(10, "evacuate", limits)
    for n, pascal in enumerate([48200, 8124, 640, 51.2]):
        cycle.reading(70 + 60 * n, p(pascal), t(45.1 + 0.1 * n))
    if stop == "evacuate":
        for n in range(3):
            cycle.reading(310 + 300 * n, p(212 - 9 * n), t(45.5))
        return 1215
    cycle.stage(400, "inject")
    cycle.reading(460, p(812), t(46.0), c(6.1))
    cycle.stage(760, "diffuse")
    cycle.reading(1120, p(1330), t(46.2), c(5.7))
    cycle.stage(1240, "plasma")
    cycle.reading(1300, p(66), t(47.0), w(402))
    cycle.reading(1360, p(65), t(47.1), w(399))
    cycle.stage(1720, "vent")
    cycle.reading(1780, p(98400), t(46.4))
    return 2305


def at(day, hour, minute, second=0):
    return datetime.datetime(2026, 3, day, hour, minute, second)


# 1. steam-24-column: 24 columns, lines cut there; day/month/two-digit year; units not printed.

def steam_24():
    p = lambda pascal: pressure(pascal, "kPa", 1)
    t = lambda celsius: temperature(celsius)
    base = dict(unit="ST-4", serial="60117", process="steam")
    cycles = []
    done = Cycle(at(12, 8, 15, 2), **base, program="134 C WRAPPED INSTRUMENTS", counter=118, load="S4-0312-02", operator="MK")
    done.ended = steam_course(done, p, t)
    done.outcome = ("completed", None, None)
    done.total = True
    stopped = Cycle(at(12, 9, 40, 30), **base, program="134 C POROUS", counter=119, load="S4-0312-03", operator="MK")
    stopped.ended = steam_course(stopped, p, t, stop="condition")
    stopped.alarm(415, "air-present", "AIR NOT REMOVED")
    stopped.outcome = ("aborted", "condition", "air-present")
    stopped.total = True
    refused = Cycle(at(12, 10, 2, 11), **base, program="134 C POROUS", counter=120, load="S4-0312-04", operator="TL")
    refused.alarm(4, "door-open", "DOOR NOT LOCKED")
    refused.ended = 20
    refused.outcome = ("rejected", None, "door-open")
    refused.total = True
    test = Cycle(at(13, 6, 40), **base, purpose="leak-test", program="LEAK TEST", counter=121, operator="MK")
    test.ended = leak_course(test, p)
    test.leak = ("0.05 kPa/min", "0.13 kPa/min")
    test.outcome = ("passed", None, None)
    test.total = True
    return [done, stopped, refused, test]


def strip_24(cycles):
    stages = {"condition": "AIR REMOVAL", "expose": "HOLD HOT", "exhaust": "EXHAUST", "dry": "DRYING", "vent": "AIR IN",
              "evacuate": "PUMP DOWN", "settle": "SETTLING", "hold": "WATCH"}
    out = []
    for cycle in cycles:
        f = cycle.fields
        lines = ["-" * 24, "STEAM STRIP", f"UNIT {f['unit']}  SN {f['serial']}", f"CYCLE NO {cycle.fields['counter']:>15}"]
        if "load" in f:
            lines.append(f"LOAD {f['load']}")
        lines += [f"PROGRAM {f['program']}", f"OPERATOR {f['operator']}", f"START {cycle.start:%d/%m/%y %H:%M:%S}", ""]
        for item in cycle.items:
            time = clock(cycle.second + item[1])
            if item[0] == "stage":
                lines.append(f"{stages[item[2]]:<15} {time}")
                if item[4]:
                    lines.append(f" PULSES {item[4]}")
                for limit in item[3]:
                    words = limit.split()
                    if words[0] == "temperature":
                        lines.append(f" {'LOW' if words[3] == 'min' else 'HIGH'} LIMIT {words[1]} C")
                    else:
                        lines.append(f" AT LEAST {words[1]} MIN")
            elif item[0] == "reading":
                numbers = [value[1] for value in item[2]]
                lines.append(f"{time} {numbers[0]:>7}" + (f" {numbers[1]:>6}" if len(numbers) > 1 else ""))
            else:
                lines.append(f"{time} ALARM")
                lines[-1] += f" {item[3]}"
        if cycle.leak:
            lines += [f"RISE {cycle.leak[0].split()[0]} KPA/MIN", f"ALLOWED {cycle.leak[1].split()[0]} KPA/MIN"]
        lines += ["", f"END {clock(cycle.second + cycle.ended)}", f"TOTAL {clock(cycle.ended)}", f"READINGS {cycle.n_readings()}"]
        word, stage, _ = cycle.outcome
        lines.append({"completed": "RAN TO ITS END", "aborted": "CYCLE STOPPED", "rejected": "LOAD REFUSED", "passed": "TEST PASSED"}[word])
        if word == "aborted":
            lines.append(f"STOPPED IN {stages[stage]}")
        if word in ("aborted", "rejected"):
            lines.append("BECAUSE " + [item[3] for item in cycle.items if item[0] == "alarm"][0])
        lines += ["*" * 24, ""]
        for line in lines:
            while len(line) > 24:
                out.append(line[:24].rstrip())
                line = line[24:]
            out.append(line)
    return ("\n".join(out) + "\n").encode("ascii")


# 2. plasma-40-column: 40 columns, code page 437 with lines drawn across, AM/PM, month names.

def plasma_40():
    p = lambda pascal: pressure(pascal, "mTorr", 0)
    t = lambda celsius: temperature(celsius)
    c = lambda value: plain("concentration", value, "mg/L")
    w = lambda value: plain("power", value, "W", 0)
    base = dict(unit="PL-7", software="2.1", process="plasma")
    limits = ["pressure 400 mTorr max", "duration 20 min max"]
    lot = ("sterilant", "K4471", "2026-09-30")
    done = Cycle(at(12, 12, 5, 20), **base, program="standard", counter=1042, load="P7-0312-01", operator="HB")
    done.consumables = [(*lot, (3, 10))]
    done.ended = plasma_course(done, p, t, c, w, limits)
    done.event(2300, "door released")
    done.outcome = ("completed", None, None)
    stopped = Cycle(at(12, 13, 31, 0), **base, program="long", counter=1043, load="P7-0312-02", operator="HB")
    stopped.consumables = [(*lot, (4, 10))]
    stopped.ended = plasma_course(stopped, p, t, c, w, limits, stop="evacuate")
    stopped.alarm(1210, "moisture", "load too wet")
    stopped.outcome = ("aborted", "evacuate", "moisture")
    refused = Cycle(at(12, 14, 2, 45), **base, program="standard", counter=1044, load="P7-0312-03", operator="TL")
    refused.consumables = [("sterilant", "K4300", "2026-02-28", (9, 10))]
    refused.alarm(2, "sterilant-expired", "supply out of date")
    refused.ended = 15
    refused.outcome = ("rejected", None, "sterilant-expired")
    test = Cycle(at(13, 0, 10, 0), **base, purpose="warm-up", program="warm-up", counter=1045, operator="HB")
    test.stage(5, "warm")
    test.reading(600, p(99000), t(47.5))
    test.ended = 905
    test.outcome = ("completed", None, None)
    return [done, stopped, refused, test]


def twelve(second):
    second %= 86400
    hour = second // 3600
    return f"{hour % 12 or 12}:{second // 60 % 60:02}:{second % 60:02} {'PM' if hour >= 12 else 'AM'}"


def strip_40(cycles):
    stages = {"evacuate": "Air out", "inject": "Agent in", "diffuse": "Spread", "plasma": "Glow", "vent": "Air in", "warm": "Warming"}
    out = []
    for cycle in cycles:
        f = cycle.fields
        out += ["═" * 40, f"Low temperature record      Run {f['counter']}", "═" * 40]
        out += [f"Chamber  : {f['unit']}      Software : {f['software']}", f"Program  : {f['program']}"]
        if "load" in f:
            out.append(f"Load     : {f['load']}")
        if f.get("purpose") == "warm-up":
            out.append("Purpose  : warming without load")
        out += [f"Operator : {f['operator']}", f"Started  : {cycle.start:%b} {cycle.start.day}, {cycle.start.year} {twelve(cycle.second)}"]
        for kind, lot, expiry, use in cycle.consumables:
            day = datetime.date.fromisoformat(expiry)
            out += [f"Agent lot {lot} until {day:%b} {day.day}, {day.year}", f"  dose {use[0]}/{use[1]}"]
        for item in cycle.items:
            time = twelve(cycle.second + item[1])
            if item[0] == "stage":
                out.append(f"─── {item[2] and stages[item[2]]} ─── {time}")
                for limit in item[3]:
                    words = limit.split()
                    name = "vacuum" if words[0] == "pressure" else "time"
                    out.append(f"    {name} limit {words[1]} {words[2]}")
            elif item[0] == "reading":
                short = {"pressure": "P", "temperature": "T", "concentration": "C", "power": "W"}
                unit = {"C": "°C"}
                parts = [f"{short[kind]} {number} {unit.get(u, u)}" for kind, number, u, _ in item[2]]
                out.append(f"{time:<11} " + "  ".join(parts))
            elif item[0] == "event":
                out.append(f"{time} * {item[2]}")
            else:
                out.append(f"{time} !! {item[3]}")
        word, stage, cause = cycle.outcome
        out.append(f"Ended    : {twelve(cycle.second + cycle.ended)}")
        words = [item[3] for item in cycle.items if item[0] == "alarm"]
        out.append({"completed": "Result   : all stages done", "aborted": f"Result   : stopped during {stages.get(stage)}, {words[0] if words else ''}",
                    "rejected": f"Result   : load not accepted, {words[0] if words else ''}"}[word])
        out += ["──── end of run ────", ""]
    return ("\r\n".join(out) + "\r\n").encode("cp437")


# 3. eo-wide-report: a landscape report with a table in fixed columns, thousands marked, over midnight.

def eo_wide():
    p = lambda pascal: pressure(pascal, "mbar", 1)
    t = lambda celsius: temperature(celsius)
    c = lambda value: plain("concentration", value, "mg/L", 0)
    h = lambda value: plain("humidity", value, "%", 0)
    base = dict(unit="EO-1", place="Fennmarsh General, room 2", process="eo")
    done = Cycle(at(1, 19, 30), **base, program="EO 54", counter=214, load="E1-0301-02", operator="TL")
    done.consumables = [("sterilant", "EG220", "2027-01-31", None), ("bi", "B7", "2026-11-30", None)]
    done.stage(60, "condition")
    done.reading(660, p(25000), t(52.9), h(58))
    done.reading(1260, p(26300), t(53.8), h(61))
    done.stage(1800, "expose")
    for n in range(4):
        done.reading(2400 + 2400 * n, p(84300 - 100 * n), t(54.1), h(57 - n), c(618 - 6 * n))
    done.stage(12600, "exhaust")
    done.reading(13200, p(9800), t(54.0))
    done.stage(14400, "aerate")
    for n in range(3):
        done.reading(15000 + 3600 * n, p(101330), t(50.2 - 0.3 * n))
    done.ended = 25260
    done.outcome = ("completed", None, None)
    done.total = True
    stopped = Cycle(at(3, 9, 12), **base, program="EO 54", counter=215, load="E1-0303-01", operator="TL")
    stopped.consumables = [("sterilant", "EG220", "2027-01-31", None)]
    stopped.stage(60, "condition")
    stopped.reading(660, p(25100), t(52.7), h(41))
    stopped.alarm(2460, "humidity-low", "too dry for exposure")
    stopped.ended = 4500
    stopped.outcome = ("aborted", "condition", "humidity-low")
    stopped.total = True
    refused = Cycle(at(3, 11, 0), **base, program="EO 54", counter=216, load="E1-0303-02", operator="MK")
    refused.alarm(30, "sterilant-empty", "canister empty")
    refused.ended = 60
    refused.outcome = ("rejected", None, "sterilant-empty")
    refused.total = True
    test = Cycle(at(4, 7, 0), **base, purpose="leak-test", program="chamber check", counter=217, operator="MK")
    test.ended = leak_course(test, p)
    test.leak = ("0.52 mbar/min", "1.30 mbar/min")
    test.outcome = ("passed", None, None)
    test.total = True
    return [done, stopped, refused, test]


def thousands(number):
    whole, _, rest = number.partition(".")
    whole = f"{int(whole):,}"
    return f"{whole}.{rest}" if rest else whole


def strip_wide(cycles):
    stages = {"condition": "humidify", "expose": "exposure", "exhaust": "gas out", "aerate": "aeration",
              "evacuate": "pump", "settle": "rest", "hold": "watch"}
    out = []
    for cycle in cycles:
        f = cycle.fields
        out.append(f"GAS CYCLE REPORT{'':<40}sheet for cycle {f['counter']}")
        out.append(f"Place: {f['place']:<40}Chamber: {f['unit']}")
        out.append(f"Program: {f['program']:<30}" + (f"Load number: {f['load']:<20}" if "load" in f else "") + f"Started by: {f['operator']}")
        out.append(f"Date {cycle.start:%Y-%m-%d}   Time {cycle.start:%H:%M:%S}")
        for kind, lot, expiry, _ in cycle.consumables:
            name = {"sterilant": "Gas canister", "bi": "Spore test"}[kind]
            out.append(f"{name} {lot}, good until {expiry}")
        out += ["", "    time      phase          pressure   temp   r.h.   gas", "                                mbar      C      %    mg/L", "-" * 62]
        stage_now = ""
        for item in cycle.items:
            time = clock(cycle.second + item[1])
            if item[0] == "stage":
                stage_now = stages[item[2]]
                out.append(f"    {time}  {stage_now:<12}  begins")
            elif item[0] == "reading":
                cells = {kind: thousands(number) for kind, number, _, _ in item[2]}
                line = f"    {time}  {'':<12}  {cells.get('pressure', ''):>8}  {cells.get('temperature', ''):>5}  {cells.get('humidity', ''):>5}  {cells.get('concentration', ''):>6}"
                out.append(line.rstrip())
            else:
                out.append(f"    {time}  ALARM         {item[3]}")
        out.append("-" * 62)
        if cycle.leak:
            out.append(f"Pressure rise {cycle.leak[0]}, allowed {cycle.leak[1]}")
        out.append(f"Finished {clock(cycle.second + cycle.ended)}   duration {clock(cycle.ended)}   rows {cycle.n_readings()}")
        word, stage, cause = cycle.outcome
        words = [item[3] for item in cycle.items if item[0] == "alarm"]
        out.append("Outcome: " + {"completed": "cycle complete", "aborted": f"cycle aborted in {stages.get(stage)} ({words[0] if words else ''})",
                                  "rejected": f"cycle not begun ({words[0] if words else ''})", "passed": "check passed"}[word])
        out += ["Checked by ....................", "End of sheet", ""]
    return ("\n".join(out) + "\n").encode("utf-8")


# 4. steam-german: German words, decimal comma, day first with the month's name, Windows-1252.

def steam_german():
    p = lambda pascal: pressure(pascal, "bar", 2, gauge=True)
    t = lambda celsius: temperature(celsius)
    base = dict(unit="DA-2", zone="Europe/Berlin", process="steam")
    done = Cycle(at(12, 8, 15), **base, program="Körbe 134", counter=2207, load="D2-0312-01", operator="JS")
    done.ended = steam_course(done, p, t, limits=["temperature 134.0 C min", "duration 5.0 min min"])
    done.outcome = ("completed", None, None)
    stopped = Cycle(at(12, 10, 5), **base, program="Körbe 134", counter=2208, load="D2-0312-02", operator="JS")
    stopped.ended = steam_course(stopped, p, t, limits=False, stop="condition")
    stopped.alarm(410, "supply-fault", "Dampf fehlt")
    stopped.outcome = ("aborted", "condition", "supply-fault")
    refused = Cycle(at(12, 11, 30), **base, program="Körbe 134", counter=2209, load="D2-0312-03", operator="AW")
    refused.alarm(5, "door-open", "Tür offen")
    refused.ended = 30
    refused.outcome = ("rejected", None, "door-open")
    test = Cycle(at(13, 6, 30), **base, purpose="air-removal-test", program="Prüfung", counter=2210, operator="AW")
    test.ended = steam_course(test, p, t, limits=False)
    test.outcome = ("passed", None, None)
    return [done, stopped, refused, test]


def strip_german(cycles):
    months = ["", "Januar", "Februar", "März"]
    stages = {"condition": "Entlüften", "expose": "Halten", "exhaust": "Ablassen", "dry": "Trocknen", "vent": "Belüften"}
    comma = lambda number: number.replace(".", ",")
    out = []
    for cycle in cycles:
        f = cycle.fields
        out += [f"PROTOKOLL Lauf {f['counter']}", f"Gerät: {f['unit']}", f"Programm: {f['program']}"]
        if f.get("purpose"):
            out.append("Art: Entlüftungsprüfung")
        if "load" in f:
            out.append(f"Charge: {f['load']}")
        out += [f"Bediener: {f['operator']}", f"Beginn: {cycle.start.day}. {months[cycle.start.month]} {cycle.start.year}, {cycle.start:%H.%M.%S} Uhr", ""]
        for item in cycle.items:
            time = clock(cycle.second + item[1]).replace(":", ".")
            if item[0] == "stage":
                out.append(f"{time}  Abschnitt {stages[item[2]]}")
                if item[4]:
                    out.append(f"  Stöße {item[4]}")
                for limit in item[3]:
                    words = limit.split()
                    out.append(f"  mindestens {comma(words[1])} {'°C' if words[0] == 'temperature' else 'min'}")
            elif item[0] == "reading":
                parts = [f"{comma(number)} {'bar Ü' if unit == 'bar' else '°C'}" for _, number, unit, _ in item[2]]
                out.append(f"{time}  " + "  ".join(parts))
            else:
                out.append(f"{time}  Störung: {item[3]}")
        word, stage, cause = cycle.outcome
        out += ["", f"Schluss: {clock(cycle.second + cycle.ended).replace(':', '.')} Uhr"]
        words = [item[3] for item in cycle.items if item[0] == "alarm"]
        out.append({"completed": "Ergebnis: vollständig", "aborted": f"Ergebnis: abgebrochen beim {stages.get(stage)}, {words[0] if words else ''}",
                    "rejected": f"Ergebnis: nicht begonnen, {words[0] if words else ''}", "passed": "Ergebnis: bestanden"}[word])
        out += ["ENDE PROTOKOLL", ""]
    return ("\r\n".join(out) + "\r\n").encode("cp1252")


# 5. steam-fahrenheit: degrees Fahrenheit, pounds above and inches of mercury below the ambient pressure, times counted
# from the start.

def steam_fahrenheit():
    def p(pascal):
        return pressure(pascal, "psi" if pascal >= AMBIENT else "inHg", 1, gauge=True)
    t = lambda celsius: temperature(celsius, "F")
    base = dict(unit="ST-9", serial="A-3301", process="steam")
    done = Cycle(at(12, 14, 20), **base, program="PULSED 273", counter=87, load="S9-0312-01", operator="RW")
    done.ended = steam_course(done, p, t, limits=["temperature 273.0 F min"])
    done.outcome = ("completed", None, None)
    done.total = True
    stopped = Cycle(at(12, 15, 45, 10), **base, program="PULSED 273", counter=88, load="S9-0312-02", operator="RW")
    stopped.ended = steam_course(stopped, p, t, limits=False, stop="condition")
    stopped.alarm(400, "operator-stopped", "STOP KEY PRESSED")
    stopped.outcome = ("aborted", "condition", "operator-stopped")
    stopped.total = True
    refused = Cycle(at(12, 16, 30), **base, program="PULSED 273", counter=89, load="S9-0312-03", operator="RW")
    refused.alarm(3, "supply-fault", "WATER SUPPLY LOW")
    refused.ended = 12
    refused.outcome = ("rejected", None, "supply-fault")
    refused.total = True
    test = Cycle(at(13, 5, 50), **base, purpose="air-removal-test", program="AIR TEST", counter=90, operator="DK")
    test.ended = steam_course(test, p, t, limits=False)
    test.outcome = ("failed", None, None)
    test.total = True
    return [done, stopped, refused, test]


def strip_fahrenheit(cycles):
    stages = {"condition": "AIR OUT", "expose": "HOLDING", "exhaust": "STEAM OUT", "dry": "DRY", "vent": "AIR BACK"}
    out = []
    for cycle in cycles:
        f = cycle.fields
        out += ["(( opens ))", f"WHICH UNIT = {f['unit']}", f"SERIAL = {f['serial']}", f"CYCLE = {f['counter']:05}"]
        if "load" in f:
            out.append(f"LOAD = {f['load']}")
        out += [f"KIND = {f['program']}", f"STAFF = {f['operator']}", f"DATE = {cycle.start:%m/%d/%y}", f"TIME = {twelve(cycle.second)}", ""]
        for item in cycle.items:
            elapsed = f"{item[1] // 60:3}:{item[1] % 60:02}"
            if item[0] == "stage":
                out.append(f"{elapsed} > {stages[item[2]]}")
                if item[4]:
                    out.append(f"       PULSES {item[4]}")
                for limit in item[3]:
                    out.append(f"       SET AT {limit.split()[1]} F OR MORE")
            elif item[0] == "reading":
                unit = {"psi": "PSIG", "inHg": "IN.HG", "F": "F"}
                out.append(f"{elapsed}   " + "   ".join(f"{number:>6} {unit[u]}" for _, number, u, _ in item[2]))
            else:
                out.append(f"{elapsed} ? {item[3]}")
        word, stage, cause = cycle.outcome
        words = [item[3] for item in cycle.items if item[0] == "alarm"]
        out += ["", f"ENDED {twelve(cycle.second + cycle.ended)}", f"LENGTH {cycle.ended // 60}:{cycle.ended % 60:02}", f"LINES {cycle.n_readings()}"]
        out.append({"completed": "STATUS = FINISHED", "aborted": "STATUS = INTERRUPTED", "rejected": "STATUS = NOT STARTED", "failed": "STATUS = TEST FAILED"}[word])
        if words:
            out.append(f"REASON = {words[0]}")
        if stage:
            out.append(f"STAGE = {stages[stage]}")
        out += ["(( shut ))", ""]
    return ("\n".join(out) + "\n").encode("ascii")


# 6. plasma-time-only: hours and minutes without dates under a day's heading, over midnight; stages without times.

def plasma_time_only():
    p = lambda pascal: pressure(pascal, "Pa", 0)
    t = lambda celsius: temperature(celsius, decimals=0)
    c = lambda value: plain("concentration", value, "mg/L")
    base = dict(unit="PL-2", process="plasma")

    def course(cycle, stop=None):
        # Every stage begins with a reading, to the minute.
        plan = [("evacuate", 0, [(46100, 45, None), (620, 45, None), (52, 45, None)]),
                ("inject", 480, [(811, 46, 6.2)]), ("diffuse", 840, [(1320, 46, 5.8), (1310, 46, 5.5)]), ("vent", 1800, [(98000, 46, None)])]
        for name, begin, readings in plan:
            cycle.stage(begin, name)
            for n, (pascal, celsius, conc) in enumerate(readings):
                values = [p(pascal), t(celsius)] + ([c(conc)] if conc else [])
                cycle.reading(begin + 120 * n, *values)
            if name == stop:
                return begin + 600
        return 2220

    done = Cycle(at(12, 22, 10), **base, program="short", counter=511, load="P2-0312-09", operator="HB")
    done.ended = course(done)
    done.outcome = ("completed", None, None)
    over = Cycle(at(12, 23, 40), **base, program="short", counter=512, load="P2-0312-10", operator="HB")
    over.ended = course(over)
    over.outcome = ("completed", None, None)
    stopped = Cycle(at(13, 0, 45), **base, program="short", counter=513, load="P2-0312-11", operator="HB")
    stopped.ended = course(stopped, stop="evacuate")
    stopped.outcome = ("aborted", "evacuate", "pressure-not-reached")
    refused = Cycle(at(13, 7, 30), **base, program="short", counter=514, load="P2-0313-01", operator="TL")
    refused.ended = 60
    refused.outcome = ("rejected", None, "sterilant-empty")
    test = Cycle(at(13, 7, 45), **base, purpose="warm-up", program="warm", counter=515, operator="TL")
    test.stage(0, "warm")
    test.reading(0, p(99500), t(38))
    test.ended = 900
    test.outcome = ("completed", None, None)
    return [done, over, stopped, refused, test]


def strip_time_only(cycles):
    stages = {"evacuate": "pumping", "inject": "dosing", "diffuse": "soaking", "vent": "airing", "warm": "heating"}
    out = ["Day sheet 12 Mar 2026", ""]
    shown = 12
    short = lambda second: clock(second)[:5]
    for cycle in cycles:
        f = cycle.fields
        if cycle.fields["counter"] == 514:
            out += ["Day sheet 13 Mar 2026", ""]
        out += [f"(begin) no. {f['counter']} at {short(cycle.second)}", f"  {f['program']} programme" + (f", load {f['load']}" if "load" in f else ""), f"  by {f['operator']}"]
        if f.get("purpose") == "warm-up":
            out.append("  without load, to warm up")
        for item in cycle.items:
            if item[0] == "stage":
                out.append(f"  [{stages[item[2]]}]")
            elif item[0] == "reading":
                cells = {kind: number for kind, number, _, _ in item[2]}
                out.append(f"  {short(cycle.second + item[1])} {cells['pressure']:>6} {cells['temperature']:>3} {cells.get('concentration', '--'):>5}")
        word, stage, cause = cycle.outcome
        text = {"completed": "finished", "aborted": "broken off: no vacuum", "rejected": "not begun: agent used up"}[word]
        out += [f"(end) at {short(cycle.second + cycle.ended)} {text}"]
        if stage:
            out.append(f"while {stages[stage]}")
        out += ["(over)", ""]
    return ("\n".join(out) + "\n").encode("ascii")


# 7. logger-semicolon: a data logger's export; each row has its run, and a new run begins with a new number.

def logger():
    p = lambda pascal: pressure(pascal, "mbar", 1)
    t = lambda celsius: temperature(celsius, decimals=2)
    base = dict(unit="ST-6", process="steam", program="logger")
    cycles = []
    for n, (day, hour, stop) in enumerate([(12, 8, None), (12, 11, "condition"), (12, 13, "refused"), (13, 6, "test")]):
        cycle = Cycle(at(day, hour, 0), **base, counter=3001 + n)
        if stop == "test":
            cycle.fields["purpose"] = "air-removal-test"
        else:
            cycle.fields["load"] = f"S6-03{day}-0{n + 1}"
        if stop == "refused":
            cycle.alarm(0, "door-open", "door")
            cycle.ended = 0
            cycle.outcome = ("rejected", None, "door-open")
        else:
            plan = [("condition", 5, 12400, 61.04), ("expose", 4, 311500, 134.61), ("exhaust", 2, 104800, 101.93), ("dry", 4, 6900, 84.10)]
            at_second = 0
            for name, rows, pascal, celsius in plan:
                cycle.stage(at_second, name)
                for row in range(rows):
                    cycle.reading(at_second, p(pascal + 110 * row), t(celsius + 0.07 * row))
                    at_second += 60
                if stop == name:
                    break
            cycle.ended = at_second - 60
            cycle.outcome = ("completed", None, None)
            if stop == "condition":
                cycle.alarm(cycle.ended, "power-lost", "mains")
                cycle.outcome = ("aborted", "condition", "power-lost")
            if stop == "test":
                cycle.outcome = ("passed", None, None)
        cycles.append(cycle)
    return cycles


def strip_logger(cycles):
    stages = {"condition": "1 prepare", "expose": "2 plateau", "exhaust": "3 release", "dry": "4 dry", "": "0 idle"}
    comma = lambda number: number.replace(".", ",")
    out = ["Export of channel group 2;;;;;;;;", "Run;When;Charge;Step;Pressure [mbar];Probe 1 [°C];Spare;Fault;State"]
    for cycle in cycles:
        f = cycle.fields
        rows = []
        step = ""
        alarms = {item[1]: item[3] for item in cycle.items if item[0] == "alarm"}
        for item in cycle.items:
            if item[0] == "stage":
                step = item[2]
            elif item[0] == "reading":
                cells = {kind: comma(number) for kind, number, _, _ in item[2]}
                rows.append((item[1], step, cells["pressure"], cells["temperature"]))
        if not rows:
            rows.append((0, "", "", ""))
        word, stage, cause = cycle.outcome
        for n, (second, step, bar, celsius) in enumerate(rows):
            moment = cycle.start + datetime.timedelta(seconds=second)
            state = "running"
            if n == len(rows) - 1:
                state = {"completed": "ok", "aborted": f"broken off in {stages.get(stage)} ({alarms.get(second)})", "rejected": "refused", "passed": "test ok"}[word]
            load = f.get("load", '"test, no charge"')
            out.append(f"{f['counter']};{moment:%d.%m.%Y %H:%M:%S};{load};{stages[step] if step else ''};{bar};{celsius};;{alarms.get(second, '')};{state}")
    return ("\r\n".join(out) + "\r\n").encode("utf-8")


# 8. steam-paged: pages with their own headers, in the middle of a stage; two form feeds; long lines go on indented.

def steam_paged():
    p = lambda pascal: pressure(pascal, "kPa", 1, gauge=True)
    t = lambda celsius: temperature(celsius)
    base = dict(unit="ST-5", place="day-surgery annexe", process="steam")
    done = Cycle(at(12, 7, 58, 40), **base, program="121 C trays", counter=731, load="S5-0312-04", operator="EV")
    done.stage(10, "condition")
    for n in range(8):
        done.reading(70 + 60 * n, p(60000 + 11000 * n), t(70.5 + 6.2 * n))
    done.stage(600, "expose", ["temperature 121.0 C min", "temperature 124.0 C max", "duration 15.0 min min"])
    for n in range(12):
        done.reading(660 + 75 * n, p(205600 + 40 * n), t(121.4 + 0.1 * (n % 4)))
    done.event(1500, "jacket valve cycled")
    done.stage(1620, "dry")
    for n in range(5):
        done.reading(1680 + 120 * n, p(20000 - 900 * n), t(90.2 - 2 * n))
    done.ended = 2350
    done.outcome = ("completed", None, None)
    stopped = Cycle(at(12, 9, 30), **base, program="121 C trays", counter=732, load="S5-0312-05", operator="EV")
    stopped.stage(10, "condition")
    for n in range(14):
        stopped.reading(70 + 60 * n, p(60000 + 5000 * n), t(70.5 + 3.2 * n))
    stopped.alarm(950, "temperature-low", "did not get hot in time")
    stopped.ended = 990
    stopped.outcome = ("aborted", "condition", "temperature-low")
    refused = Cycle(at(12, 10, 10), **base, program="121 C trays", counter=733, load="S5-0312-06", operator="EV")
    refused.alarm(1, "sensor-fault", "probe open circuit")
    refused.ended = 5
    refused.outcome = ("rejected", None, "sensor-fault")
    test = Cycle(at(13, 6, 5), **base, purpose="leak-test", program="leak check", counter=734, operator="EV")
    test.ended = leak_course(test, p)
    test.leak = ("0.06 kPa/min", "0.13 kPa/min")
    test.outcome = ("passed", None, None)
    return [done, stopped, refused, test]


def strip_paged(cycles):
    stages = {"condition": "heat and purge", "expose": "hold at temperature", "dry": "vacuum dry", "evacuate": "draw down", "settle": "equalise", "hold": "observe"}
    out = []
    for cycle in cycles:
        f = cycle.fields
        body = []
        for item in cycle.items:
            time = clock(cycle.second + item[1])
            if item[0] == "stage":
                body.append(f"{time} {stages[item[2]]}")
                if item[3]:
                    parts = []
                    for limit in item[3]:
                        words = limit.split()
                        side = "from" if words[3] == "min" else "to"
                        parts.append(f"{side} {words[1]} C" if words[0] == "temperature" else f"for {words[1]} min")
                    # Too long for the paper, so it goes on indented.
                    body += ["band " + " ".join(parts[:2]), "     " + " ".join(parts[2:])]
            elif item[0] == "reading":
                body.append(f"{time} " + " ".join(f"{number:>7}" for _, number, _, _ in item[2]))
            elif item[0] == "event":
                body.append(f"{time} note {item[2]}")
            else:
                body.append(f"{time} alarm {item[3]}")
        if cycle.leak:
            body.append(f"leak rate {cycle.leak[0]} of {cycle.leak[1]}")
        word, stage, cause = cycle.outcome
        words = [item[3] for item in cycle.items if item[0] == "alarm"]
        body.append(f"ended {clock(cycle.second + cycle.ended)}")
        body.append({"completed": "verdict good", "aborted": f"verdict stopped, {words[0] if words else ''}, in {stages.get(stage)}",
                     "rejected": f"verdict refused, {words[0] if words else ''}", "passed": "verdict tight"}[word])
        head = [f"Sterilizer record, cycle {f['counter']:06}", f"unit {f['unit']} at {f['place']}"]
        first = [f"programme {f['program']}", f"purpose {'leak check' if f.get('purpose') else 'load ' + f['load']}", f"operator {f['operator']}", f"on {cycle.start:%d-%m-%Y} at {cycle.start:%H:%M:%S}"]
        lines = first + body
        page = 1
        while lines:
            n = 14
            # A page does not end within a line that goes on.
            while n < len(lines) and lines[n].startswith(" "):
                n += 1
            chunk, lines = lines[:n], lines[n:]
            out += ([] if page == 1 else [f"\f- page {page} -"]) + head + chunk
            page += 1
        out += ["(close)", ""]
    return ("\n".join(out) + "\n").encode("utf-8")


# A printer for which there is no layout: the test drafts one from its strip.

def unseen():
    p = lambda pascal: pressure(pascal, "kPa", 1)
    t = lambda celsius: temperature(celsius)
    base = dict(unit="AU-3", process="steam")
    done = Cycle(at(12, 9, 2, 11), **base, program="wrapped 134", counter=412, load="A3-0312-07", operator="NP")
    done.ended = steam_course(done, p, t, limits=False)
    done.outcome = ("completed", None, None)
    stopped = Cycle(at(13, 10, 40), **base, program="wrapped 134", counter=413, load="A3-0313-02", operator="NP")
    stopped.ended = steam_course(stopped, p, t, limits=False, stop="condition")
    stopped.alarm(405, "supply-fault", "feed line dry")
    stopped.outcome = ("aborted", "condition", "supply-fault")
    refused = Cycle(at(13, 11, 5), **base, program="bare 134", counter=414, load="A3-0313-03", operator="LK")
    refused.alarm(2, "door-open", "door ajar")
    refused.ended = 9
    refused.outcome = ("rejected", None, "door-open")
    again = Cycle(at(13, 23, 50), **base, program="wrapped 134", counter=415, load="A3-0313-04", operator="LK")
    again.ended = steam_course(again, p, t, limits=False)
    again.outcome = ("completed", None, None)
    return [done, stopped, refused, again]


def strip_unseen(cycles):
    stages = {"condition": "sweep", "expose": "bake", "exhaust": "let off", "dry": "draw dry", "vent": "refill"}
    out = []
    for cycle in cycles:
        f = cycle.fields
        out += ["/" * 32, f">> RUN {f['counter']:04} <<", f"device      {f['unit']}", f"recipe      {f['program']}", f"batch       {f['load']}",
                f"user        {f['operator']}", f"started     {cycle.start:%d/%m/%Y %H:%M:%S}", ""]
        for item in cycle.items:
            time = clock(cycle.second + item[1])
            if item[0] == "stage":
                out.append(f"{time}  step  {stages[item[2]]}")
            elif item[0] == "reading":
                out.append(f"{time}  " + "  ".join(f"{number:>6} {unit}" for _, number, unit, _ in item[2]))
            else:
                out.append(f"{time}  alert  {item[3]}")
        word, stage, cause = cycle.outcome
        words = [item[3] for item in cycle.items if item[0] == "alarm"]
        out += ["", f"finished    {clock(cycle.second + cycle.ended)}"]
        out.append("status      " + {"completed": "all done", "aborted": f"broken off in {stages.get(stage)}", "rejected": "not begun"}[word])
        if words:
            out.append(f"reason      {words[0]}")
        out += ["== end of run ==", ""]
    return ("\r\n".join(out) + "\r\n").encode("ascii")


SAMPLES = {
    "steam-24-column": (steam_24, strip_24),
    "plasma-40-column": (plasma_40, strip_40),
    "eo-wide-report": (eo_wide, strip_wide),
    "steam-german": (steam_german, strip_german),
    "steam-fahrenheit": (steam_fahrenheit, strip_fahrenheit),
    "plasma-time-only": (plasma_time_only, strip_time_only),
    "logger-semicolon": (logger, strip_logger),
    "steam-paged": (steam_paged, strip_paged),
}

UNSEEN = pathlib.Path(__file__).resolve().parent / "unseen"

if __name__ == "__main__":
    folders = [(ROOT / name, *functions) for name, functions in SAMPLES.items()]
    for folder, make, write in [*folders, (UNSEEN, unseen, strip_unseen)]:
        folder.mkdir(parents=True, exist_ok=True)
        cycles = make()
        (folder / "strip.txt").write_bytes(write(cycles))
        (folder / "same.neutral.txt").write_text("\n".join(neutral(cycle) for cycle in cycles), encoding="utf-8", newline="\n")
