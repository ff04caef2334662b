# Die Texte der Berichte auf Deutsch. Die Schlüssel sind in jeder Sprache dieselben; ein Test achtet darauf.

## Zahlen und Daten
percent = { $n } %
month-1 = Januar
month-2 = Februar
month-3 = März
month-4 = April
month-5 = Mai
month-6 = Juni
month-7 = Juli
month-8 = August
month-9 = September
month-10 = Oktober
month-11 = November
month-12 = Dezember
month-short-1 = Jan.
month-short-2 = Feb.
month-short-3 = März
month-short-4 = Apr.
month-short-5 = Mai
month-short-6 = Juni
month-short-7 = Juli
month-short-8 = Aug.
month-short-9 = Sept.
month-short-10 = Okt.
month-short-11 = Nov.
month-short-12 = Dez.
share-of = { $n } von { $of }
share-interval = { $low } bis { $high } %
share-interval-note = Unter jedem Anteil steht sein exaktes 95-%-Intervall.
line-n = Zeile { $n }
more = und { $n } weitere
n-cycles = { $n ->
    [one] { $n } Zyklus
   *[other] { $n } Zyklen
}

## Die Seite
page-brand = loadbook · Aufzeichnungen der Sterilgutaufbereitung
page-skip = Zum Bericht
page-contents = Inhalt
page-kept = Aufzeichnungen der Sterilgutaufbereitung
page-made = Erstellt mit loadbook { $version }
page-number = Seite
page-of = von
page-masked = Personalkürzel sind durch Nummern ersetzt.
page-foot = loadbook sagt, was die Aufzeichnungen belegen und was ihnen fehlt. Freigeben, sperren und zurückrufen tun Menschen.

## Angaben im Kopf
facts-period = { $first } bis { $last }
facts-as-of = Stand { $at }
facts-newest = neueste Aufzeichnung
facts-scope = Nur { $scope }
facts-intake = { $files ->
    [one] { $files } Datei
   *[other] { $files } Dateien
}, { $lines } Zeilen, { $entries } Bucheinträge
scope-from = ab { $day }
scope-to = bis { $day }
scope-units = Gerät { $names }
scope-programs = Programm { $names }
scope-everything = alle Aufzeichnungen

## Wörter
word-unit = Gerät
word-program = Programm
word-stage = Phase
word-cycles = Zyklen
word-loads = Chargen
word-load = Charge
word-lines = Zeilen
word-lot = Los
word-expiry = Verfall
word-all = Alle

## Verfahren, Zwecke, Phasen, Größen
process-plasma = Peroxidplasma
process-steam = Dampf
process-eo = Ethylenoxid
process-not-known = Verfahren unbekannt
purpose-load = Charge
purpose-leak-test = Dichtheitsprüfung
purpose-air-removal-test = Luftentfernungsprüfung
purpose-warm-up = Aufwärmlauf
stage-none = Phase nicht gedruckt
stage-warm = Aufwärmen
stage-evacuate = Evakuieren
stage-inject = Einspritzen
stage-diffuse = Diffusion
stage-plasma = Plasma
stage-condition = Konditionieren
stage-expose = Einwirken
stage-exhaust = Ablassen
stage-dry = Trocknen
stage-aerate = Auslüften
stage-settle = Beruhigen
stage-hold = Halten
stage-vent = Belüften
quantity-pressure = Druck
quantity-temperature = Temperatur
quantity-concentration = Konzentration
quantity-humidity = Relative Feuchte
quantity-power = Plasmaleistung
quantity-conductivity = Leitfähigkeit
consumable-sterilant = Sterilisiermittel
consumable-ci = Chemischer Indikator
consumable-bi = Biologischer Indikator
consumable-packaging = Verpackung
consumable-other = Sonstiges
position-external = CI außen
position-internal = CI innen
position-test-pack = CI im Prüfpaket
position-not-stated = CI, Lage nicht genannt
endpoint-reached = Umschlag erreicht
endpoint-not-reached = Umschlag nicht erreicht
endpoint-unreadable = nicht ablesbar
endpoint-none = kein Ergebnis
role-test = Test-BI
role-control = Kontroll-BI
growth-growth = Wachstum
growth-no-growth = kein Wachstum
growth-none = kein Ergebnis
lot-action-opened = angebrochen
lot-action-finished = aufgebraucht
severity-error = Fehler
severity-warning = Warnung
severity-note = Hinweis

## Ursachen
cause-none = Ursache nicht gedruckt
cause-moisture = Feuchte in der Beladung
cause-package-contact = eine Packung berührt die Wand oder ein anderes Teil
cause-sensor-obstructed = ein Sensor ist verdeckt
cause-sterilant-empty = Sterilisiermittel leer
cause-sterilant-expired = Sterilisiermittel verfallen
cause-sterilant-unread = Sterilisiermittel nicht erkannt
cause-pressure-not-reached = Solldruck nicht rechtzeitig erreicht
cause-pressure-lost = Druck stieg oder fiel aus seinem Bereich
cause-temperature-low = Temperatur zu niedrig
cause-temperature-high = Temperatur zu hoch
cause-injection-low = zu wenig Sterilisiermittel eingespritzt
cause-concentration-low = Konzentration des Sterilisiermittels zu niedrig
cause-humidity-low = Feuchte zu niedrig
cause-plasma-power-low = Plasmaleistung zu niedrig oder unruhig
cause-air-present = Luft in der Kammer verblieben
cause-supply-fault = Dampf, Wasser, Luft oder Strom außerhalb des Bereichs
cause-door-open = Tür nicht geschlossen oder verriegelt
cause-power-lost = Stromausfall
cause-operator-stopped = von Hand abgebrochen
cause-sensor-fault = ein Sensor ist ausgefallen

## Worauf zu sehen ist, nach Ursache: übliche Praxis, keine Quelle
check-moisture = Trocknen vor dem Verpacken, Lumen durchgeblasen; dann Türdichtung, Pumpe und ihr Öl.
check-package-contact = Wie die Kammer beladen wird: Abstand zu Wänden, Elektrode und anderen Packungen.
check-sensor-obstructed = Was vor dem Sensor lag; sein Fenster und sein Platz.
check-sterilant-empty = Zählung der Anwendungen; wie der Vorrat gewechselt wird.
check-sterilant-expired = Lagerumschlag; Verfall beim Einsetzen.
check-sterilant-unread = Etikett und Leser des Vorrats; seine Lagerung.
check-pressure-not-reached = Türdichtung, Pumpe und ihr Öl, Ventile, Ablauf; bei Dampf der Versorgungsdruck.
check-pressure-lost = Türdichtung, Ventile, Dichtheitsprüfung.
check-temperature-low = Heizung, Sensoren, Dampfversorgung und Dampfqualität; Beladung.
check-temperature-high = Heizungsregelung, Sensoren.
check-injection-low = Vorrat, Dosierung, Verdampfer und seine Leitungen.
check-concentration-low = Vorrat, Verdampfer, Temperatur der Beladung, Stoffe, die Sterilisiermittel aufnehmen.
check-humidity-low = Befeuchtung, Dauer der Konditionierung, Trockenheit der Beladung.
check-plasma-power-low = Leistungsversorgung, Elektrode, Feuchte in der Beladung.
check-air-present = Luftentfernungsprüfung, Türdichtung, Dampfqualität, Packweise.
check-supply-fault = Die Versorgung außerhalb ihres Bereichs, mit der Haustechnik.
check-door-open = Türschalter, Verriegelung und Dichtung.
check-power-lost = Stromversorgung des Raums, Sicherungen; was sonst noch ausfiel.
check-operator-stopped = Nachfragen, warum abgebrochen wurde, und es im Buch vermerken.
check-sensor-fault = Der Sensor, sein Kabel und seine Kalibrierung.
check-title = Worauf zu sehen ist
check-none = Keine gedruckte Ursache weist auf ein Teil hin.

## Ergebnisse
outcome-completed = Vollständig
outcome-aborted = Abgebrochen
outcome-aborted-in = Abgebrochen in der Phase { $stage }
outcome-rejected = Vor dem Einwirken abgewiesen
outcome-rejected-short = Abgewiesen
outcome-passed = Bestanden
outcome-failed = Nicht bestanden
outcome-unproven = Ergebnis nicht belegt

## Was gesehen wurde
seen-bi = { $role }: { $result }
seen-read = abgelesen { $at }
seen-incubated = bebrütet ab { $at }
seen-ci-type = Typ { $type }
seen-lot = Los { $lot }
seen-lot-expiry = Los { $lot }, Verfall { $day }
seen-incubating = (seit { $time } bebrütet)
seen-near = die Nummer kann ein Schreibfehler für { $load } sein
seen-missing = { $n ->
    [one] Zählerstand { $first }, zwischen { $between }
   *[other] Zählerstände { $first } bis { $last }, zwischen { $between }
}
seen-near-miss = { $log } im Buch, { $strip } auf dem Streifen
seen-torn = Ausdruck vor seiner ersten Phase abgerissen
seen-torn-in = Ausdruck in der Phase { $stage } abgerissen
seen-leak-limit = { $rate }, Grenze { $limit }

## Was unterschrieben wurde
state-released = Freigegeben
state-open = Offen
state-settled = Erledigt
signed-nothing = nichts unterschrieben
signed-hold = gesperrt
signed-recalled = zurückgerufen
signed-run-again = wiederholt als { $cycle }
signed-passed-since = seitdem bestanden, { $cycle }
signed-not-passed-since = seitdem nicht bestanden
signed-no-load-number = keine Chargennummer, nichts unterschrieben
signed-not-found = nicht gefunden
signed-not-joined = nicht zusammengeführt
signed-not-read = nicht gelesen
signed-not-settled = nicht geklärt

## Einträge des Buchs
entry-load = Eingesetzt
entry-counter = Zählerstand { $counter }
entry-content = Set
entry-items = { $n ->
    [one] { $n } Teil
   *[other] { $n } Teile
}
entry-packages = { $n ->
    [one] { $n } Packung
   *[other] { $n } Packungen
}
entry-implant = IMPLANTAT
entry-to = an { $to }
entry-ci = Abgelesen:
entry-lot = Los
entry-release = Freigegeben
entry-hold = Gesperrt
entry-recall = Zurückgerufen
entry-service = Wartung
entry-remark = Bemerkung

## Was einen Menschen braucht
need-next = Als Nächstes:
need-bi-growth = BI mit Wachstum
need-bi-growth-next = Die Charge sperren und, wenn sie hinausgegangen ist, zurückrufen. Leitung und Krankenhaushygiene benachrichtigen. Das Gerät außer Betrieb nehmen, bis die örtliche Regelung es wieder zulässt.
need-bi-control-no-growth = Kontroll-BI ohne Wachstum
need-bi-control-no-growth-next = Das BI-Ergebnis dieser Chargen beweist nichts. Sie sperren, Los und Brutschrank prüfen und den Test mit einer wachsenden Kontrolle wiederholen.
need-ci-not-reached = CI ohne Umschlag
need-ci-not-reached-next = Die Packung nicht verwenden. Die ganze Charge ansehen, bevor etwas daraus verwendet wird: Packen, Beladen, Gerät.
need-unit-test-failed = Dichtheits- oder Luftprüfung nicht bestanden
need-unit-test-failed-next = Keine Charge im Gerät fahren, bis die Prüfung bestanden ist. Den Kundendienst rufen, wenn sie wieder misslingt.
need-cycle-aborted = Zyklus abgebrochen
need-cycle-aborted-next = Die Charge als nicht behandelt ansehen. Die Ursache suchen, neu packen, wiederholen und unterschreiben, was entschieden wurde.
need-load-rejected = Beladung abgewiesen
need-load-rejected-next = Die Charge als nicht behandelt ansehen. Die Ursache beheben, wiederholen und unterschreiben, was entschieden wurde.
need-printout-torn = Ausdruck abgerissen
need-printout-torn-next = Den Rest des Streifens suchen oder ihn aus dem Speicher des Geräts neu drucken. Bis dahin ist das Ergebnis nicht belegt.
need-released-lacking = Freigegeben, Aufzeichnungen fehlen
need-released-lacking-next = Suchen, was fehlt, und es eintragen. Ist es nicht zu finden, nach örtlicher Regelung entscheiden, ob die Charge zurückgerufen wird.
need-evidence-lacking = Nicht unterschrieben, Aufzeichnungen fehlen
need-evidence-lacking-next = Eintragen, was fehlt, bevor die Charge freigegeben wird.
need-patient-data = Zeilen wie Patientendaten
need-patient-data-next = Aus der Datei entfernen. loadbook braucht weder Name noch Nummer noch Geburtsdatum und wiederholt nichts davon.
need-file-unread = Dateien nicht gelesen
need-file-unread-next = Die Datei prüfen. Was sie enthält, fehlt in diesem Bericht.
need-printout-missing = Ausdrucke fehlen
need-printout-missing-next = Aus dem Speicher des Geräts neu drucken oder die Streifen suchen.
need-lines-unread = Zeilen nicht gelesen
need-lines-unread-next = `loadbook read` zeigt jede mit ihrem Fehler. Nach dem Streifen oder der Seite im Original berichtigen.
need-load-number-near-miss = Chargennummer vielleicht verschrieben
need-load-number-near-miss-next = Beide mit dem Chargenprotokoll vergleichen. Ist es ein Schreibfehler, ihn im Buch berichtigen; zusammengeführt wurde nichts.
need-clocks-disagree = Uhren, die abweichen
need-clocks-disagree-next = Die Uhr des Geräts stellen und vermerken, wann.
need-record-doubtful = Zweifelhafte Aufzeichnungen
need-record-doubtful-next = Am Original oder Gerät klären, was stimmt, und die Datei berichtigen.
needs-caption = Nach der Schwere des Schadens. Offen: nichts unterschrieben. Erledigt: gesperrt, zurückgerufen, wiederholt oder seitdem bestanden.
needs-seen = Was gesehen wurde
needs-found = Gefunden
needs-newest = Neuestes
first-caption = Die ersten Fälle, nach der Schwere des Schadens
first-more = { $n ->
    [one] { $n } weiterer Fall ist offen; er folgt unten.
   *[other] { $n } weitere Fälle sind offen; sie folgen unten.
}
case-about = Worum
case-when = Wann
case-seen = Was gesehen wurde
case-signed = Unterschrieben
case-where = Wo
case-more = { $n ->
    [one] { $n } weiterer, mit seiner Stelle:
   *[other] { $n } weitere, jeder mit seiner Stelle:
}
caution-title = Vorsicht
caution-peroxide = Peroxidzyklus abgebrochen oder abgewiesen: Auf Packungen und in der Kammer kann flüssiges Peroxid sein. Handschuhe tragen.
caution-gas = Ethylenoxid: Die Charge nicht anfassen, bevor ihre Auslüftung zu Ende ist.
caution-hot = Dampf: Kammer, Gestell und Packungen sind heiß.
caution-defers = Die Gebrauchsanweisung des Geräts und die örtliche Regelung entscheiden.

## Bericht für die Besprechung
review-title = Durchsicht der Sterilisationsaufzeichnungen
front-needs = Was einen Menschen braucht
front-first = Damit anfangen
front-nothing = Nichts in den Aufzeichnungen braucht einen Menschen.
lead-against = { $n ->
    [one] { $n } Charge wurde freigegeben, obwohl ihre Aufzeichnungen dagegen sprechen.
   *[other] { $n } Chargen wurden freigegeben, obwohl ihre Aufzeichnungen dagegen sprechen.
} { $open ->
    [one] Insgesamt ist { $open } Fall offen.
   *[other] Insgesamt sind { $open } Fälle offen.
}
lead-open = { $n ->
    [one] { $n } Fall ist offen. Keine Charge wurde gegen ihre Aufzeichnungen freigegeben.
   *[other] { $n } Fälle sind offen. Keine Charge wurde gegen ihre Aufzeichnungen freigegeben.
}
lead-nothing = Nichts in den Aufzeichnungen braucht einen Menschen.
figure-cycles = Zyklen mit Beladung
figure-of-all = von { $n } insgesamt
figure-loads = Chargen
figure-units = { $n ->
    [one] in { $n } Gerät
   *[other] in { $n } Geräten
}
figure-aborted = abgebrochen
figure-rejected = abgewiesen
figure-missing = Ausdrucke fehlen
figure-unread = Zeilen nicht gelesen
counts-title = Zyklen nach Gerät und Programm
programs-caption = Zyklen mit Beladung; jede Zahl führt zu ihren Zyklen
programs-share = Abgebrochen oder abgewiesen
tests-caption = Prüfungen und Aufwärmläufe
tests-what = Gefahren als
tests-passed = Bestanden
tests-failed = Nicht bestanden
aborts-title = Abbrüche nach Phase und Ursache
rejections-title = Abweisungen nach Ursache
pareto-none = Keine.
pareto-caption = Die häufigsten zuerst; in Klammern der Anteil aller bis dahin
pareto-bar = { $n } ({ $share })
pareto-about = { $n } Zyklen insgesamt, die häufigsten zuerst. { $bars }
pareto-rows = { $title }: die Zyklen
pareto-cause = Ursache
pareto-units = Nach Gerät
pareto-which = Welche
lengths-title = Wie lange Zyklen dauerten
lengths-about = Vollständige Zyklen jedes Geräts und Programms. Jeder Punkt ist ein Zyklus, die dünne Linie ihre Mitte; gepunktete Linien zeigen Wartung und neue Software.
lengths-about-limits = Vollständige Zyklen jedes Geräts und Programms. Jeder Punkt ist ein Zyklus; Ringe liegen außerhalb der Eingriffsgrenzen (gestrichelt), zwischen denen eine Dauer bleibt, solange nur der Zufall wirkt. Gepunktete Linien zeigen Wartung und neue Software, gestrichelte senkrechte eine Änderung der Lage.
series-caption = { $n ->
    [one] { $n } Zyklus
   *[other] { $n } Zyklen
}
series-about = { $n } Zyklen vom { $first } bis { $last }. Mitte { $median } min, kürzester { $lowest } min, längster { $highest } min. Außerhalb der Grenzen: { $outside }.
series-constant = Immer gleich lang:
chart-minutes = min
chart-median = Mitte { $value }
chart-centre = Mitte { $value }
chart-upper = oben { $value }
chart-lower = unten { $value }
chart-limit = Grenze { $value }
chart-service = Wartung
chart-software = Software { $version }
chart-change = Änderung
lots-title = Lose
lots-about = { $n ->
    [one] { $n } Los wurde verwendet; bei { $against } spricht etwas dagegen.
   *[other] { $n } Lose wurden verwendet; bei { $against } spricht etwas dagegen.
} Ein Los, das hier steht, muss nicht die Ursache sein: Es können Gerät, Programm und Beladungen sein.
lots-caption = Lose, gegen die etwas spricht: Abbrüche, Umschlag nicht erreicht, Wachstum, Kontrollen ohne Wachstum
lots-kind = Art
lots-used = Verwendet
lots-against = Dagegen
lots-share = Anteil
records-title = Aufzeichnungen und Uhren
clocks-caption = Die Uhren der Geräte gegen die des Buchs
clocks-median = Mittlere Abweichung
clocks-loads = Verglichene Chargen
clocks-habit = Mehr, als Gewohnheit erklärt
clocks-more = ja: Uhr stellen
clocks-usual = nein
clock-behind = { $time } hinter dem Buch
clock-ahead = { $time } vor dem Buch
resets-caption = Zähler, die neu begannen
resets-from = Letzter der alten Zählung
resets-to = Erster der neuen Zählung
resets-service = Wartungseintrag
resets-none = keiner im Buch

## Monatsbericht
monthly-title = Krankenhaushygiene, { $month }
monthly-unfinished = Der Monat ist nicht zu Ende.
monthly-nothing = Keine Aufzeichnungen.
monthly-lead = { $growth ->
    [0] Kein biologischer Indikator wuchs, von { $read } abgelesenen.
    [one] { $growth } biologischer Indikator wuchs, von { $read } abgelesenen.
   *[other] { $growth } biologische Indikatoren wuchsen, von { $read } abgelesenen.
} { $open ->
    [0] Keine Abweichung ist offen.
    [one] { $open } Abweichung ist offen.
   *[other] { $open } Abweichungen sind offen.
}
monthly-caption = Der Monat und die Monate davor, alle Standorte zusammen.
monthly-figures-title = Zahlen und was dahinter steht
monthly-cycles = Zyklen mit Beladung
monthly-loads = Chargen
monthly-aborted = Abgebrochene Zyklen
monthly-rejected = Abgewiesene Beladungen
monthly-unproven = Ergebnis nicht belegt
monthly-growth = BI mit Wachstum, von den abgelesenen
monthly-dead = Kontroll-BI ohne Wachstum, von den abgelesenen
monthly-waiting = BI ohne Ergebnis
monthly-ci = CI ohne Umschlag oder nicht ablesbar, von den abgelesenen
monthly-implants = Chargen mit Implantat
columns-cycles = Zyklen: abgebrochen oder abgewiesen, von allen
columns-against = abgebrochen oder abgewiesen
columns-others = andere
columns-indicators = Biologische Indikatoren: Wachstum, von den abgelesenen
columns-growth = Wachstum
columns-dead = Kontrolle ohne Wachstum
columns-no-growth = kein Wachstum
positives-title = Positive Indikatoren und ungültige Tests
positives-none = Keine in diesem Monat.
schedule-title = Wurde der Prüfplan eingehalten?
schedule-about = Was die Aufzeichnungen zeigen. Wie oft eine Prüfung fällig ist, sagt die Regelung der Abteilung.
schedule-caption = Chargen und Tage mit einem biologischen Indikator; Tage mit bestandener Dichtheits- oder Luftentfernungsprüfung, von den Tagen mit einer
schedule-loads = Vollständige Chargen mit BI
schedule-days = Betriebstage mit BI
schedule-without = Betriebstage ohne BI
schedule-none = keine
schedule-leak = Dichtheit bestanden
schedule-air = Luftentfernung bestanden
implants-title = Implantate
implants-none = Keine Charge mit Implantat in diesem Monat.
implants-caption = { $n ->
    [one] { $n } Charge mit Implantat
   *[other] { $n } Chargen mit Implantat
}
implants-bi = Biologischer Indikator
implants-released = Freigegeben
implant-grew = wuchs
implant-without = ohne BI im Buch
implant-not-read = BI ohne Ergebnis
implant-early = freigegeben, bevor der BI abgelesen war
implant-fine = kein Wachstum, vor der Freigabe abgelesen
exceptions-title = Abweichungen und wie sie abgeschlossen wurden
exceptions-none = Keine in diesem Monat.
exceptions-about = Erledigt: gesperrt, zurückgerufen, wiederholt oder seitdem bestanden. Offen: nichts unterschrieben. Freigegeben: unterschrieben, obwohl etwas dagegen spricht oder fehlt.

## Wartung
service-title = Wartungsblatt
service-lead = { $n ->
    [one] Was die Aufzeichnungen über den Zustand von { $n } Gerät zeigen.
   *[other] Was die Aufzeichnungen über den Zustand von { $n } Geräten zeigen.
}
service-caption = Die Geräte
service-unit = { $unit } – { $process }
service-process = Verfahren
service-alarms = Alarme
service-leak = Letzte Dichtheitsprüfung
service-limit = Grenze { $limit }
service-last = Letzte Wartung
service-none = keine im Buch
service-defers = Was getan wird und von wem, entscheiden die Wartungsunterlagen des Geräts.
service-serial = Seriennummer
service-software = Software
service-clock = Uhr
service-endings = Abgebrochen und abgewiesen
alarms-caption = Alarme nach Ursache und Monat
since-title = Seit der letzten Wartung
since-about = Wartung am { $at }.
since-caption = Mittlere Dauer jeder Phase davor und seitdem, in Minuten
since-before = Davor
since-since = Seitdem
since-change = Änderung
leaks-title = Dichtheitsprüfungen
leaks-caption = { $n ->
    [one] { $n } Prüfung
   *[other] { $n } Prüfungen
}; Kreuze wurden nicht bestanden
leaks-about = { $n } Prüfungen; höchste { $highest } { $unit }, letzte { $last } { $unit }; nicht bestanden: { $failed }.
stages-title = Wie lange Phasen dauerten

## Untersuchung
investigation-title = Untersuchung
investigation-no-outcome = Die Aufzeichnungen nennen kein Ergebnis.
happened-title = Was geschah, der Reihe nach
happened-caption = Aus Ausdrucken und Buch
happened-when = Wann
happened-source = Quelle
happened-what = Was
happened-log = Buch
what-began = Zyklus begann
what-stage = Phase: { $stage }
what-alarm = ALARM: { $cause }
curves-title = Verlauf von { $cycle }
curves-about = Durchgezogen: dieser Zyklus. Grau: der Bereich der { $n } guten Zyklen desselben Geräts und Programms davor, gleich lange nach dem Beginn jeder Phase. Gestrichelt: Grenzen, wie gedruckt. Ringe: außerhalb des Bereichs. Zahlen oben: Phasen, unten benannt. Verglichen mit
curves-alone = Durchgezogen: dieser Zyklus. Davor stehen zu wenige gute Zyklen desselben Geräts und Programms, um zu vergleichen. Gestrichelt: Grenzen, wie gedruckt. Zahlen oben: Phasen, unten benannt.
curve-title = { $quantity }, { $unit }
curve-about = { $n } Werte von { $lowest } bis { $highest } { $unit }; { $outside } außerhalb des Bereichs der guten Zyklen. Alarme in diesem Zyklus: { $alarms }.
different-title = Was in { $cycle } anders war
different-caption = { $n ->
    [0] Dauer der Phasen in Minuten
   *[other] Dauer der Phasen in Minuten, neben den { $n } guten Zyklen davor
}
different-here = Dieser Zyklus
different-median = Mitte
different-range = Bereich
different-limit = Grenze
different-said = Verglichen
different-longer = länger als jeder
different-shorter = kürzer als jeder
different-within = in ihrem Bereich
different-unknown = nichts zum Vergleichen
bound-min = { $quantity } mindestens { $value } { $unit }
bound-max = { $quantity } höchstens { $value } { $unit }
outside-caption = Werte außerhalb des Bereichs der guten Zyklen
outside-quantity = Größe
outside-n = Werte außerhalb
outside-first = Erster davon
uses-title = Wo die Lose sonst verwendet wurden
uses-none = Kein Los ist genannt.
uses-caption = Andere Verwendungen derselben Lose
uses-others = Andere Verwendungen
uses-which = Die, gegen die etwas spricht
use-aborted = abgebrochen
use-rejected = abgewiesen
use-torn-off = abgerissen
use-no-outcome = ohne Ergebnis
use-failed = nicht bestanden
use-not-reached = Umschlag nicht erreicht
use-unreadable = nicht ablesbar
use-growth = Wachstum
use-control-no-growth = Kontrolle ohne Wachstum
before-title = Was das Gerät davor tat
before-caption = Die letzten zehn: Abbrüche, Abweisungen, nicht bestandene Prüfungen, Wartung
before-none = Davor nichts dergleichen in den Aufzeichnungen.
cause-title = Ursache, Maßnahme und Unterschriften
room-cause = Ursache, wie gefunden
room-load = Was mit der Charge und ihrem Inhalt geschah
room-action = Was getan wurde, damit es nicht wieder geschieht
room-done = Was getan wurde
printout-title = Der Ausdruck, wie gelesen
fact-unit = Gerät
fact-serial = Seriennummer
fact-software = Software
fact-place = Ort
fact-zone = Zeitzone
fact-process = Verfahren
fact-purpose = Gefahren als
fact-program = Programm
fact-counter = Zählerstand
fact-load = Charge
fact-operator = Bedient von
fact-began = Beginn
fact-ambient = Umgebungsdruck
fact-leak = Leckrate
fact-first-record = Erste Aufzeichnung

## Unterschriften
sign-title = Unterschriften
sign-caption = Gelesen und einverstanden
sign-role = Aufgabe
sign-name = Name
sign-date = Datum
sign-signature = Unterschrift
sign-manager = Leitung der Aufbereitung
sign-quality = Qualität
sign-prevention = Krankenhaushygiene
sign-technician = Technik

## Anhänge
index-title = Anhang: die gezählten Zyklen
index-about = Jeder Zyklus mit seinem Zählerstand und, nach dem Doppelpunkt, der Zeile der Datei, in der sein Ausdruck beginnt.
reading-title = Anhang: wie die Dateien gelesen wurden
unread-none = Jede Zeile wurde gelesen.
unread-caption = Zeilen, die nicht gelesen werden konnten, nach Anzahl
unread-why = Warum
noticed-caption = Was beim Lesen und Zusammenführen auffiel
noticed-what = Was
noticed-weight = Gewicht
noticed-n = Mal
inputs-title = Anhang: Eingaben
inputs-caption = { $n ->
    [one] { $n } Datei
   *[other] { $n } Dateien
}
inputs-file = Datei
inputs-bytes = Bytes
inputs-encoding = Kodierung
inputs-layout = Layout
inputs-neutral = neutral
made-by = Programm
made-as-of = Stand
made-scope = Umfang
made-strict = Zeilen, die Schlüsse brauchen
made-infer = gelesen und gesagt
made-refuse = abgelehnt
made-masking = Personalkürzel
made-shown = wie in den Aufzeichnungen
made-masked = durch Nummern ersetzt
lines-title = Anhang: die Zeilen, auf die verwiesen wird
lines-about = Jede Zeile, zu der eine Zeile dieses Berichts führt, wie sie in ihrer Datei steht.
quote-line = Zeile
quote-text = Text
quote-withheld = (sieht nach Patientendaten aus und wird nicht wiederholt)
quote-unreadable = (nicht noch einmal lesbar)

## Entscheidungen und Regeln
decisions-title = Was die Aufzeichnungen belegen
decisions-about = Was die Aufzeichnungen jeder Charge belegen, neben dem, was Menschen unterschrieben haben. loadbook stellt Belege fest; freigeben tun Menschen.
decisions-caption = Chargen nach dem, was ihre Aufzeichnungen belegen
decisions-support = Belegt ist
decision-release = Freigabe
decision-quarantine = Quarantäne
decision-hold = Sperre
decision-reject = Abweisung
decision-recall = Rückruf
decision-means-release = Alles, was die Regelung verlangt, ist da, und nichts spricht dagegen.
decision-means-quarantine = Vollständig, und wartet auf einen biologischen Indikator.
decision-means-hold = Belege fehlen oder widersprechen sich.
decision-means-reject = Etwas spricht dagegen.
decision-means-recall = Etwas spricht dagegen, und ein Mensch hatte sie freigegeben.
effect-note = Vermerk
effect-quarantine = Quarantäne
effect-hold = Sperre
effect-reject = Abweisung
rules-caption = Die Regeln, die entscheiden
notes-caption = Was Regeln vermerken, ohne zu entscheiden
rules-rule = Regel
rules-effect = Wirkung
rules-source = Quelle
rules-which = Chargen
loads-title = Anhang: Chargen nach Entscheidung
loads-about = Jede Charge mit, nach dem Doppelpunkt, der Zeile der Datei, die sie nennt; und außer bei Freigaben die Regeln, die entscheiden.
policy-said = { $n ->
    [0] Beurteilt nach der Regelung { $names }, ohne Abweichung.
    [one] Beurteilt nach der Regelung { $names }, mit { $n } Abweichung von ihrer Vorlage.
   *[other] Beurteilt nach der Regelung { $names }, mit { $n } Abweichungen von ihrer Vorlage.
}
policy-title = Anhang: Regelung
policy-key = Was
policy-preset = Vorlage { $preset }
policy-here = Hier
because-caption = Die Regeln, die entscheiden
besides-caption = Andere Regeln, die etwas fanden
steps-caption = Wie sich die Entscheidung mit den Aufzeichnungen änderte
steps-since = Seit
steps-rules = Regeln
seen-scope = im Rückrufumfang wegen BI-Wachstums in { $loads }
schedule-rule = { $n ->
    [0] Nach der Regelung wurde der Prüfplan eingehalten.
    [one] Nach der Regelung fehlt { $n } Charge der fällige BI:
   *[other] Nach der Regelung fehlt { $n } Chargen der fällige BI:
}

## Rückruf
recalls-title = Rückrufumfang
recall-none = Kein biologischer Indikator wuchs, also gibt es keinen Rückruf.
recall-title = { $unit }: Wachstum in { $loads }
recall-totals = { $loads ->
    [one] { $loads } Charge
   *[other] { $loads } Chargen
} mit { $sets ->
    [one] { $sets } Set
   *[other] { $sets } Sets
} in { $packages ->
    [one] { $packages } Packung
   *[other] { $packages } Packungen
}: { $left } freigegeben, { $called } zurückgerufen, { $here } noch hier.
recall-open = Der Umfang ist nicht abgeschlossen: Danach kam kein befriedigender Indikator.
recall-missing = { $n ->
    [one] { $n } Zyklus ohne Ausdruck liegt darin.
   *[other] { $n } Zyklen ohne Ausdruck liegen darin.
}
recall-bounds = Was wuchs und was den Umfang begrenzt:
recall-caption = Die Chargen des Umfangs
recall-whereabouts = Packungen
recall-sets = Sets
recall-went = Gingen an
recall-grew = BI wuchs
recall-not-counted = mit diesem Lauf nicht behandelt
recall-left = freigegeben
recall-called = zurückgerufen
recall-here = noch hier
need-recall-scope = Im Rückrufumfang
need-recall-scope-next = `loadbook recall` druckt das Blatt. Die Packungen suchen, getrennt halten, neu behandeln und eintragen, was zurückgerufen wurde.
need-evidence-against = Etwas spricht gegen die Charge
need-evidence-against-next = `loadbook show CHARGE` sagt, welche Regel und wo. Die Charge hier behalten oder, wenn sie hinausging, suchen und neu behandeln.

## Regeln, nach Kennung
rule-air-removal-test-missing = Keine Luftentfernungsprüfung am Tag vor der Charge
rule-air-removal-test-not-passed = Letzte Luftentfernungsprüfung vor der Charge nicht bestanden
rule-alarm-in-completed-cycle = Alarm in einem als vollständig gedruckten Zyklus
rule-bi-control-missing = Keine Kontrolle zum BI
rule-bi-control-no-growth = Kontroll-BI wuchs nicht
rule-bi-control-not-read = Kontroll-BI nicht abgelesen
rule-bi-control-of-other-lot = Kontroll-BI aus anderem Los
rule-bi-growth = BI wuchs
rule-bi-growth-in-unit = In der Spanne, die das BI-Wachstum einer anderen Charge in Zweifel stellt
rule-bi-incubation-unknown = Bebrütung des BI nicht bekannt
rule-bi-not-read = Verlangter BI nicht abgelesen
rule-bi-overdue = BI nicht mehr rechtzeitig ablesbar
rule-bi-read-too-early = BI vor der kürzesten Bebrütung abgelesen
rule-bi-read-too-late = BI nach der längsten Bebrütung abgelesen
rule-bi-role-not-stated = BI ohne Angabe, ob Test oder Kontrolle
rule-bi-schedule-not-kept = BI nicht so oft wie verlangt
rule-ci-endpoint-not-reached = CI ohne Umschlag
rule-ci-external-missing = Kein CI außen mit Ergebnis
rule-ci-internal-missing = Kein CI innen mit Ergebnis für jedes Set
rule-ci-type-not-accepted = CI eines Typs, den die Regelung dort nicht annimmt
rule-ci-type-not-stated = CI ohne Lage oder Typ
rule-ci-unreadable = CI nicht ablesbar
rule-clock-changed-in-cycle = Uhr im Zyklus verstellt
rule-clocks-disagree = Uhr des Geräts und des Buchs weichen ab
rule-contents-not-listed = Inhalt nicht aufgeführt
rule-contents-unfit-for-plasma = Inhalt, der nicht in ein Peroxidverfahren darf
rule-cycle-not-completed = Zyklus nicht als vollständig gedruckt
rule-cycle-time-unknown = Beginn des Zyklus nicht bekannt
rule-eo-aeration-short = Auslüftung kürzer als veröffentlicht
rule-eo-concentration-outside-range = Ethylenoxid-Konzentration außerhalb des veröffentlichten Bereichs
rule-eo-exposure-long = Einwirken von Ethylenoxid länger als veröffentlicht
rule-eo-exposure-short = Einwirken von Ethylenoxid kürzer als veröffentlicht
rule-eo-gas-not-recorded = Konzentration oder Feuchte des Einwirkens nicht gedruckt
rule-eo-humidity-outside-range = Feuchte des Einwirkens außerhalb des veröffentlichten Bereichs
rule-eo-temperature-not-recorded = Temperatur des Einwirkens nicht gedruckt
rule-eo-temperature-outside-range = Temperatur des Einwirkens außerhalb des veröffentlichten Bereichs
rule-held-by-person = Von einem Menschen gesperrt
rule-implant-bi-not-read = BI zum Implantat nicht abgelesen oder nicht gültig
rule-implant-left-before-bi-read = Implantat freigegeben, bevor sein BI abgelesen war
rule-implant-not-stated = Set ohne Angabe zu Implantaten
rule-implant-without-bi = Implantat ohne BI
rule-leak-rate-above-limit = Leckrate über der Grenze
rule-leak-test-missing = Dichtheitsprüfung nicht so oft wie verlangt
rule-leak-test-not-passed = Letzte Dichtheitsprüfung vor der Charge nicht bestanden
rule-load-not-in-log = Charge nicht im Buch
rule-load-number-near-miss = Chargennummer vielleicht verschrieben
rule-load-number-on-two-units = Chargennummer auf zwei Geräten
rule-load-run-again = Charge schon unter dieser Nummer gefahren
rule-log-contradicts-printout = Buch widerspricht dem Ausdruck
rule-lot-expired = Los verfallen
rule-lot-not-stated = Los nicht genannt
rule-lot-open-too-long = Los länger angebrochen als erlaubt
rule-lot-opening-not-logged = Anbruch des Loses nicht im Buch
rule-lot-past-its-uses = Vorrat öfter verwendet als vorgesehen
rule-lot-used-after-finished = Los nach dem Aufbrauchen verwendet
rule-lot-used-before-opened = Los vor dem Anbruch verwendet
rule-not-signed = Weder Freigabe noch Sperre unterschrieben
rule-outcome-not-printed = Ergebnis nicht gedruckt
rule-plasma-cycle-length-unusual = Peroxidzyklus von ungewöhnlicher Dauer
rule-plasma-temperature-high = Peroxidzyklus wärmer als sein Verfahren
rule-policy-none-in-force = Keine Regelung an diesem Tag in Kraft
rule-printout-checksum-wrong = Prüfsumme des Ausdrucks falsch
rule-printout-lines-unread = Zeilen des Ausdrucks nicht gelesen
rule-printout-missing = Ausdruck fehlt
rule-printout-reprinted = Zyklus mehr als einmal gedruckt
rule-printout-torn = Ausdruck abgerissen
rule-printout-totals-differ = Summen des Ausdrucks passen nicht zu seinen Zeilen
rule-process-not-known = Verfahren nicht bekannt
rule-reading-outside-band = Wert außerhalb der gedruckten Grenzen
rule-recalled-by-person = Von einem Menschen zurückgerufen
rule-released-before-evidence = Freigegeben, bevor die Aufzeichnungen es belegten
rule-stage-length-unknown = Dauer einer Phase mit Grenze nicht bekannt
rule-stage-missing = Phase fehlt oder steht nicht in ihrer Reihe
rule-stage-reading-missing = Wert fehlt, wo eine Grenze gedruckt ist
rule-stage-too-long = Phase länger als ihre Grenze
rule-stage-too-short = Phase kürzer als ihre Grenze
rule-steam-bi-growth-in-unit = Dampfcharge in der Spanne des BI-Wachstums einer anderen Charge
rule-steam-f0-low = F0 niedriger als verlangt
rule-steam-holding-time-short = Haltezeit des Bandes nicht erreicht
rule-steam-not-saturated = Temperatur und Druck passen nicht zu Sattdampf
rule-steam-temperature-outside-band = Temperatur außerhalb eines Bandes des Einwirkens

## Was beim Lesen auffiel, nach Kennung
code-file-unreadable = Ein Pfad konnte nicht geöffnet oder gelesen werden.
code-file-empty = Eine Datei enthält keine Bytes.
code-file-not-text = Eine Datei ist kein Text: Sie enthält Bytes, die kein Ausdruck und kein Buch hat.
code-file-skipped = Ein Pfad in einem Ordner wurde übergangen: Er ist versteckt, keine gewöhnliche Datei oder eine Schleife von Verweisen.
code-file-changed = Eine Datei änderte sich beim Lesen, so dass ihre letzten Zeilen fehlen können.
code-archive-damaged = Etwas im Archiv ist nicht mehr so, wie es hineinkam: Es wurde geändert oder fehlt.
code-encoding-inferred = Eine Datei ist nicht UTF-8; ihre Bytes wurden als Windows-1252 gelesen.
code-line-too-long = Eine Zeile ist länger, als eine Aufzeichnung sein kann.
code-line-outside-record = Eine Zeile steht vor jeder Anfangszeile und gehört zu keiner Aufzeichnung.
code-line-unknown = Eine Zeile einer Aufzeichnung hat keine der Formen, die ihr Format kennt.
code-line-cut = Eine Zeile endet mitten in einem Wert, in einer Breite, in der Drucker und Mitschnitte Zeilen abschneiden.
code-version-unknown = Eine Anfangszeile nennt eine Fassung des Formats, die dieses loadbook nicht kennt.
code-key-unknown = Eine Zeile hat ein Schlüsselwort, das ihr Format nicht kennt.
code-value-invalid = Ein Wert hat nicht die Form, die sein Schlüsselwort verlangt.
code-value-missing = Ein Schlüsselwort hat keinen Wert, oder einer Zeile fehlt ein Wert, den sie braucht.
code-unit-unknown = Eine Zahl steht ohne Einheit oder mit einer, die diese Größe nicht misst.
code-number-ambiguous = Eine Zahl lässt sich auf zwei Arten lesen: Ihr Komma kann Dezimalen oder Tausender trennen.
code-number-out-of-range = Eine Zahl liegt außerhalb dessen, was die Größe überhaupt haben kann (etwa unter dem absoluten Nullpunkt).
code-date-invalid = Ein Datum oder eine Zeit gibt es im Kalender oder auf der Uhr nicht.
code-field-repeated = Eine Aufzeichnung sagt dasselbe zweimal mit verschiedenen Werten; der erste gilt.
code-patient-data = Eine Zeile sieht nach Patientendaten aus, die hier nicht hingehören. Sie wird gezählt und nicht wiederholt.
code-check-digit-wrong = Eine gescannte GTIN hat eine falsche Prüfziffer, also wurde mindestens eine Ziffer falsch gelesen.
code-scan-invalid = Eine gescannte Zeichenfolge folgt nicht den GS1 General Specifications.
code-csv-row-uneven = Eine Zeile eines CSV-Buchs hat mehr Zellen als seine Kopfzeile Spalten.
code-csv-header-unknown = Eine Spalte eines CSV-Buchs hat eine Überschrift, die das Format nicht kennt; ihre Zellen blieben liegen.
code-strict-refused = Im strengen Modus wurde eine Zeile abgelehnt, weil ihr Lesen einen Schluss verlangt hätte.
code-printout-torn = Ein Ausdruck endet vor seiner Zeile `end`: Der Streifen wurde abgerissen oder der Mitschnitt brach ab.
code-checksum-wrong = Die Zeilen eines Ausdrucks ergeben nicht die Prüfsumme, die er nennt: Etwas darin wurde geändert, verloren oder hinzugefügt.
code-total-wrong = Die Summe eines Ausdrucks passt nicht zu seinen eigenen Zeilen: Eine ging verloren, kam hinzu oder wurde geändert.
code-line-repeated = Eine Zeile steht zweimal hintereinander, bis zur letzten Ziffer gleich: Eine der beiden kann eine Kopie sein.
code-lines-merged = Ein Text enthält ein Schlüsselwort mit Doppelpunkt: Zwei Zeilen können zusammengelaufen sein. Er blieb, wie er dasteht.
code-word-near-miss = Ein Wort ist einen Schreibfehler von einem entfernt, das das Format kennt. Es blieb, wie es dasteht.
code-field-missing = Einem Ausdruck fehlt eine Zeile, die jeder Ausdruck hat.
code-decimal-comma = Ein Komma wurde als Dezimalzeichen gelesen.
code-midnight-passed = Die Uhr ging in einem Zyklus von spät auf früh, gelesen als Mitternacht.
code-clock-stepped-back = Die Uhr ging in einem Zyklus um eine Stunde zurück, gelesen als Ende der Sommerzeit.
code-clock-went-back = Eine Zeit liegt vor der davor, und weder Mitternacht noch das Ende der Sommerzeit erklärt es.
code-clock-lost = Ein Zyklus trägt ein Datum, aus dem es noch keine Aufzeichnungen gab: Die Uhr des Geräts hat ihre Einstellung verloren.
code-reprint-kept-once = Derselbe Zyklus wurde mehr als einmal gedruckt; einer zählt.
code-reprint-differs = Zwei Ausdrucke wollen derselbe Zyklus sein und weichen ab; beide bleiben getrennt.
code-unlike-neighbours = Ein Ausdruck sagt etwas anderes als die Ausdrucke des Geräts davor und danach, die übereinstimmen.
code-course-differs = Ein abgeschlossener Zyklus hat andere Phasen oder andere Grenzwerte als fast alle Zyklen seines Geräts und Programms.
code-reading-spike = Ein Messwert liegt weit von denen direkt davor und danach, weiter als eine Kammer sich bewegt und zurückkommt.
code-printout-missing = Der Zykluszähler überspringt Zahlen: Ausdrucke dieser Zyklen fehlen.
code-counter-reset = Der Zykluszähler begann neu, wie nach einer Wartung.
code-load-without-printout = Das Buch nennt eine Charge, zu der es keinen Ausdruck gibt.
code-cycle-without-log = Ein Ausdruck nennt eine Charge, von der das Buch nichts sagt.
code-cycle-without-load = Ein Ausdruck einer behandelten Charge trägt keine Chargennummer.
code-load-number-near-miss = Zwei Chargennummern unterscheiden sich um einen Schreibfehler und können dieselbe Charge sein; sie wurden nicht zusammengeführt.
code-load-number-reused = Dieselbe Chargennummer steht auf Zyklen verschiedener Geräte oder Tage.
code-log-contradicts-printout = Das Buch nennt für eine Charge ein anderes Gerät oder einen anderen Zählerstand als ihr Ausdruck.
code-clocks-disagree = Die Uhr eines Geräts und die des Buchs weichen mehr voneinander ab, als Gewohnheit erklärt.
code-local-hour-skipped = Eine Ortszeit gibt es nicht: Die Uhren übersprangen sie, als die Sommerzeit begann.
code-local-hour-doubled = Eine Ortszeit kam zweimal, weil die Uhren zurückgestellt wurden; welche gemeint ist, wurde geschlossen.
code-zone-unknown = Keine Zeitzone ist angegeben, darum werden Ortszeiten verglichen, wie sie dastehen.
code-time-inferred = Eine Zeile hat keine eigene Zeit, und das Layout ihres Druckers kennt keine: Sie wurde von der Zeile danach oder davor genommen.
code-date-inferred = Das Datum eines Zyklus steht nicht in seinem eigenen Ausdruck; es wurde von einem Datum genommen, das darüber gedruckt ist.
code-slip-repaired = Ein Zeichen, das beim Scannen falsch gelesen war, wurde berichtigt, weil sich das, was dasteht, nur auf eine Art lesen lässt.
code-layout-invalid = Ein Layout sagt nicht, was es sagen soll, oder sagt es so, dass loadbook es nicht kennt.
code-layout-ambiguous = Mehrere Layouts passen gleich gut auf eine Datei, so dass keines benutzt wurde.

## Befunde: was jede Frage fragt, wie, was sie nicht sagt, was als Nächstes zu prüfen ist
finding-bi-growth = BI mit Wachstum
finding-bi-growth-question = Wuchs ein biologischer Indikator nach seinem Zyklus?
finding-bi-growth-method = Eine Tatsache, keine Statistik: Ein Wachstum genügt, was auch die Kontrolle zeigte. Welche Chargen es in Zweifel zieht, folgt aus der Regelung (CDC, Leitlinie zu Desinfektion und Sterilisation, 2008, Empfehlungen zur Sterilisation, 16) und steht auf dem Blatt zum Rückruf.
finding-bi-growth-cannot-tell = Ob es am Zyklus, am Indikator, am Brutschrank oder am Umgang lag.
finding-bi-growth-next-1 = Nach örtlicher Regelung alle Chargen auf dem Blatt zum Rückruf sperren und zurückrufen, nicht nur die eine.
finding-bi-growth-next-2 = Das Gerät außer Betrieb lassen, bis es geprüft ist und wiederholte Tests negativ sind.
finding-bi-control-no-growth = Kontroll-BI ohne Wachstum
finding-bi-control-no-growth-question = Wuchs eine Kontrolle nicht, sodass ihr Test nichts beweist?
finding-bi-control-no-growth-method = Eine Tatsache, keine Statistik (MMWR 52(RR-17), 2003, VI.F.6: Eine Kontrolle desselben Loses wird mit dem Test bebrütet).
finding-bi-control-no-growth-cannot-tell = Ob das Los tot oder der Brutschrank kalt war.
finding-bi-control-no-growth-next-1 = Den Test nicht als negativ zählen; ihn wiederholen.
finding-bi-control-no-growth-next-2 = Die Temperatur des Brutschranks und die Lagerung des Loses prüfen.
finding-released-before-bi = Implantat vor seinem BI freigegeben
finding-released-before-bi-question = Wurde eine Charge mit Implantat freigegeben, bevor ihr biologischer Indikator abgelesen war?
finding-released-before-bi-method = Eine Tatsache, keine Statistik: Der Eintrag der Freigabe ist früher als die Ablesezeit (MMWR 52(RR-17), 2003, VI.F.7: Implantate bleiben in Quarantäne, bis das Ergebnis bekannt ist).
finding-released-before-bi-cannot-tell = Ob ein Notfall anderswo dokumentiert ist.
finding-released-before-bi-next-1 = Nach dem dokumentierten Grund suchen und wem er gesagt wurde.
finding-released-before-bi-next-2 = Den Schritt der Freigabe mit der Schicht durchgehen.
finding-stage-too-short = Phase kürzer als ihre Grenze
finding-stage-too-short-question = War eine Phase kürzer als ihre gedruckte Mindestzeit, gleich was das Ergebnis sagt?
finding-stage-too-short-method = Eine Tatsache, keine Statistik: die Dauer der Phase nach der Uhr des Geräts gegen die Grenze auf demselben Streifen.
finding-stage-too-short-cannot-tell = Ob die Charge anderswo weiterbehandelt wurde.
finding-stage-too-short-next-1 = Die Charge suchen; niemand darf sie anfassen, bevor sie den Rest nach der Gebrauchsanweisung des Geräts hatte.
finding-stage-too-short-next-2 = Fragen, warum das Gerät das druckte.
finding-indicator-lot = Versagende Indikatoren und ein Los
finding-indicator-lot-question = Versagen Indikatoren eines Loses öfter als die anderer Lose im selben Gerät und Programm?
finding-indicator-lot-method = Exakter bedingter Test und Mid-p über Vierfeldertafeln nach Gerät und Programm (Gart, Biometrika 57, 1970; Mehta, Patel, Gray, JASA 80, 1985), Lose gegeneinander innerhalb der Geräte, Geräte gegeneinander innerhalb der Lose; Wahrscheinlichkeit des mindestens Doppelten aus derselben exakten Likelihood mit flacher Vorverteilung des logarithmierten Verhältnisses.
finding-indicator-lot-cannot-tell = Ob das Los fehlerhaft ist oder zu Recht zeigt, was andere Lose übersehen: Jede Charge bleibt gesperrt.
finding-indicator-lot-next-1 = Die Chargen sperren, bis jede nach örtlicher Regelung entschieden ist.
finding-indicator-lot-next-2 = Das Los neben einem anderen in denselben Chargen verwenden und den Hersteller fragen; unbenutzte Indikatoren davon aufheben.
finding-indicator-unit = Versagende Indikatoren und ein Gerät
finding-indicator-unit-question = Versagen Indikatoren in einem Gerät öfter als in seinen Schwestergeräten mit demselben Los?
finding-indicator-unit-method = Exakter bedingter Test und Mid-p über Vierfeldertafeln nach Los (Gart 1970; Mehta, Patel, Gray 1985).
finding-indicator-unit-cannot-tell = Ob es am Gerät liegt oder an dem, womit es beladen wird.
finding-indicator-unit-next-1 = Beladen und Packen mit den Schwestergeräten vergleichen.
finding-indicator-unit-next-2 = Den Kundendienst bitten, das Einwirken zu prüfen: Menge des Sterilisiermittels oder Dampf, Temperatur, Zeit.
finding-abort-rise = Mehr Abbrüche als davor
finding-abort-rise-question = Bricht ein Gerät in letzter Zeit öfter ab als davor und als seine Schwestergeräte?
finding-abort-rise-method = Die letzten 200 Zyklen gegen alle davor, exakter bedingter Test über die Programme mit Mid-p (Gart 1970); wo das Gerät davor seinen Schwestern glich, gehen sie in den Vergleich ein.
finding-abort-rise-cannot-tell = Warum: Beladungen, Leute, Vorräte und Gerät ändern sich zusammen. Geräte mit weniger als 400 Zyklen werden nicht gefragt: Selbst eine verdoppelte Rate würde eher übersehen als gefunden.
finding-abort-rise-next-1 = Die seither gedruckten Ursachen ansehen und was sich änderte: Beladungen, Trocknen, Packen, Vorräte, Wartung.
finding-abort-rise-next-2 = Liegen die Ursachen beim Gerät selbst (Druck, Einspritzen, Leistung), den Kundendienst bitten, danach zu sehen.
finding-abort-unit = Mehr Abbrüche als die Schwestergeräte
finding-abort-unit-question = Bricht ein Gerät, insgesamt oder aus einer Ursache, öfter ab als Geräte desselben Verfahrens in denselben Programmen?
finding-abort-unit-method = Exakter bedingter Test über die Programme mit Mid-p (Gart 1970; Mehta, Patel, Gray 1985).
finding-abort-unit-cannot-tell = Ob sich das Gerät oder seine Beladungen unterscheiden; vergleichen, was hineinkommt.
finding-abort-unit-next-1 = Beladungen, Trocknen und Packen mit denen der Schwestergeräte vergleichen.
finding-abort-unit-next-2 = Liegt die Ursache beim Gerät selbst (Druck, Einspritzen, Leistung), den Kundendienst bitten, danach zu sehen.
finding-abort-factor = Abbrüche häufen sich bei manchen Beladungen
finding-abort-factor-question = Häufen sich Abbrüche einer Ursache bei einem Set, einer Verpackung, einem Programm, einer Schicht oder Person, oder bei einem Set in einer Schicht?
finding-abort-factor-method = Exakter bedingter Test über die Geräte mit Mid-p (Gart 1970) für jedes und für jedes Paar aus Set und Schicht; das Sicherste wird berichtet, seine Zyklen werden herausgenommen und der Rest wird nochmals gefragt, damit nicht ein Teil für das Ganze beschuldigt wird.
finding-abort-factor-cannot-tell = Ursache und Wirkung: Was sich zusammen häuft, ändert sich zusammen.
finding-abort-factor-next-1 = Zusehen, wie diese Beladungen gespült, getrocknet und gepackt werden und in welcher Schicht.
finding-abort-factor-next-2 = Hohlräume und Gelenke vor dem Verpacken ganz trocknen, nach den Anweisungen der Instrumente.
finding-abort-cluster = Gehäufte Abbrüche
finding-abort-cluster-question = Kommen die Abbrüche eines Geräts in wenigen Zyklen zusammen?
finding-abort-cluster-method = Scan-Statistik über die Folge der Zyklen, damit volle Tage nicht zählen, mit einem Monte-Carlo-p mit festem Startwert (Naus, JASA 60, 1965; Kulldorff, Communications in Statistics 26, 1997).
finding-abort-cluster-cannot-tell = Warum; eine Häufung, die zu Ende ist, kann schon behoben sein.
finding-abort-cluster-next-1 = Ansehen, was an diesen Tagen anders war: Vorräte, Wasser, Dampf, Beladungen, Leute, Wartung.
finding-supply-lot = Abbrüche und ein Los der Vorräte
finding-supply-lot-question = Werden Zyklen mit einem Los des Sterilisiermittels oder der Verpackung öfter abgebrochen oder abgewiesen als mit anderen Losen im selben Gerät und Programm?
finding-supply-lot-method = Wie bei Losen von Indikatoren; beim Sterilisiermittel zählen Einspritzen und Konzentration, bei der Verpackung Feuchte und Berührung.
finding-supply-lot-cannot-tell = Lose folgen zeitlich aufeinander, sodass alles, was sich sonst damals änderte, mit dem Los vermengt ist.
finding-supply-lot-next-1 = Den Rest des Loses aufheben, ein anderes daneben verwenden und den Hersteller fragen.
finding-supply-lot-next-2 = Lagerung und Verfall prüfen.
finding-leak-creep = Leckrate steigt langsam
finding-leak-creep-question = Steigt die Leckrate eines Geräts von Prüfung zu Prüfung, oder springt sie?
finding-leak-creep-method = Mann-Kendall-Test mit Berichtigung für Autokorrelation (Hamed und Rao, J. Hydrology 204, 1998; nie unter 1), Pettitts Test auf einen Sprung (Applied Statistics 28, 1979); Theil-Sen-Steigung (Sen, JASA 63, 1968); der Tag der Grenze durch inverse Regression mit Fiellers Intervall (J. R. Statist. Soc. B 16, 1954).
finding-leak-creep-cannot-tell = Wo das Leck ist.
finding-leak-creep-next-1 = Den Kundendienst bitten, Türdichtung und Ventile anzusehen, bevor eine Prüfung misslingt.
finding-leak-creep-next-2 = Die Dichtung nach der Gebrauchsanweisung des Geräts reinigen und ansehen.
finding-stage-drift = Eine Phase wandert
finding-stage-drift-question = Wird eine Phase eines Geräts von Zyklus zu Zyklus länger oder kürzer, wenn Programm, erster Zyklus des Tages, Größe der Beladung und Pulse berücksichtigt sind?
finding-stage-drift-method = Logarithmen der Dauern, abzüglich der Mediane von Programm und erstem Zyklus des Tages und der Steigung nach Größe der Beladung und Pulsen; Mann-Kendall-Test mit Berichtigung für Autokorrelation (Hamed und Rao 1998; nie unter 1), Theil-Sen-Steigung (Sen 1968), Tag der Grenze durch inverse Regression mit Fiellers Intervall (1954).
finding-stage-drift-cannot-tell = Ob sich Pumpe, Dichtungen, Ventile, Messgerät oder Beladungen änderten.
finding-stage-drift-next-1 = Den Kundendienst bitten, Pumpe und Öl, Türdichtung und Ventile anzusehen, bevor Chargen abbrechen.
finding-stage-drift-next-2 = Prüfen, ob Beladungen vor dem Verpacken getrocknet werden.
finding-stage-step = Eine Phase sprang
finding-stage-step-question = Sprang die Dauer einer Phase von einem Tag zum nächsten und blieb dort?
finding-stage-step-method = Pettitts Test (Applied Statistics 28, 1979) auf denselben bereinigten Dauern wie beim Wandern, gegen ein stetiges Wandern durch die Summe der absoluten Reste; Wartungseinträge, Software und Lose des Sterilisiermittels binnen drei Tagen werden genannt.
finding-stage-step-cannot-tell = Ob das, was in denselben Tagen geschah, es bewirkte.
finding-stage-step-next-1 = Fragen, was an diesem Tag am Gerät getan wurde und ob seine Einstellungen danach geprüft wurden.
finding-curve-drift = Messwerte verlassen ihren üblichen Verlauf
finding-curve-drift-question = Entfernen sich die Messwerte einer Phase vom üblichen Verlauf des Geräts, obwohl kein Alarm kam?
finding-curve-drift-method = Messwerte, nach dem vergangenen Anteil der Phase ausgerichtet, gegen Median und Streuung desselben Geräts im selben Programm bei diesem Anteil; die mittlere Abweichung der Zyklen wird dann wie die Dauer einer Phase geprüft.
finding-curve-drift-cannot-tell = Ob sich die Größe oder ihr Messgerät änderte.
finding-curve-drift-next-1 = Den Kundendienst bitten, die Größe und ihr Messgerät zu prüfen: Verdampfer und Einspritzen bei der Konzentration, Generator bei der Leistung, Dichtungen und Pumpe beim Druck.
finding-rejection-cluster = Abweisungen häufen sich
finding-rejection-cluster-question = Kommen Abweisungen einer Ursache zeitlich oder bei einem Gerät zusammen?
finding-rejection-cluster-method = Scan-Statistik über die Folge der Zyklen mit einem Monte-Carlo-p mit festem Startwert (Naus 1965) und exakter bedingter Test gegen die Schwestergeräte (Gart 1970).
finding-rejection-cluster-cannot-tell = Ob es am Sensor, am Beladen oder am Vorrat liegt.
finding-rejection-cluster-next-1 = Das Teil ansehen, das die Ursache nennt, und wie in diesem Gerät beladen wird.
finding-rejection-cluster-next-2 = Kommt es wieder, den Kundendienst bitten, den Sensor zu prüfen.
finding-rejection-factor = Abweisungen häufen sich bei einer Art Beladung
finding-rejection-factor-question = Häufen sich Abweisungen einer Ursache bei einem Set, einer Verpackung, einem Programm, einer Schicht oder Person?
finding-rejection-factor-method = Wie bei Abbrüchen.
finding-rejection-factor-cannot-tell = Ursache und Wirkung: Was sich zusammen häuft, ändert sich zusammen.
finding-rejection-factor-next-1 = Zusehen, wie diese Beladungen gepackt und gelegt werden.
finding-set-repeats = Dasselbe Set scheitert wieder
finding-set-repeats-question = Scheitert ein Set, das abgebrochen oder abgewiesen wurde, binnen Tagen öfter wieder, als andere scheitern?
finding-set-repeats-method = Verwendungen binnen sieben Tagen nach einem Scheitern desselben Sets gegen alle anderen: exakter bedingter Test über die Geräte mit Mid-p (Gart 1970).
finding-set-repeats-cannot-tell = Ob es am Set oder am Umgang liegt.
finding-set-repeats-next-1 = Das Set herausnehmen und sein Spülen, Trocknen und Packen Schritt für Schritt durchgehen.
finding-unsigned-shift = Eine Schicht ohne Unterschriften
finding-unsigned-shift-question = In welchen Schichten blieben mehr Chargen ohne Unterschrift, als übliche Versehen erklären?
finding-unsigned-shift-method = Exakter Binomialtest jeder Schicht gegen die Rate aller anderen.
finding-unsigned-shift-cannot-tell = Ob die Chargen geprüft wurden und nur die Unterschrift fehlt.
finding-unsigned-shift-next-1 = Fragen, wer in dieser Schicht war, und jede Charge nach örtlicher Regelung entscheiden lassen.
finding-bi-read-late = BI spät abgelesen
finding-bi-read-late-question = Werden biologische Indikatoren öfter spät abgelesen, wenn sie am Wochenende fällig sind?
finding-bi-read-late-method = Mehr als sechs Stunden nach der üblichen Zeit (dem Median) gilt als spät; exakter Test des Wochenendes gegen Werktage (Fisher, 1935), über die Orte.
finding-bi-read-late-cannot-tell = Ob jemand rechtzeitig hinsah und später schrieb.
finding-bi-read-late-next-1 = Für jemanden sorgen, der sie am Wochenende abliest, oder die Tests an Tagen fahren, deren Ablesung auf einen Werktag fällt.
finding-printouts-missing = Ausdrucke eines Geräts fehlen
finding-printouts-missing-question = Verliert ein Gerät mehr Ausdrucke als die anderen?
finding-printouts-missing-method = Exakter Test zweier Raten: fehlende Zählerstände des Geräts gegen die der anderen (Fisher, 1935).
finding-printouts-missing-cannot-tell = Ausdrucke, die ganz am Anfang oder Ende der Aufzeichnungen fehlen.
finding-printouts-missing-next-1 = Den Drucker ansehen: Papier, Farbband, Stau. Die fehlenden Streifen aus dem Speicher des Geräts neu drucken.

## Befunde: Teile von Sätzen
phrase-name = { $name }
phrase-record = { $record }
phrase-sentences = { $all }
phrase-counted = { $name } { $n }
phrase-measured = { $value } { $symbol }
phrase-more = +{ $what }
phrase-less = −{ $what }
phrase-share = { $n } von { $of } ({ $percent } %)
phrase-and = { $first } und { $last }
p-below = unter { $p }
ratio-open = beliebig viele
shift-early = Frühschicht
shift-late = Spätschicht
shift-night = Nachtschicht
shift-weekend = Wochenendschicht
process-word-plasma = Plasma
process-word-steam = Dampf
process-word-eo = EO
sort-internal-CI = innerer CI
sort-external-CI = äußerer CI
sort-test-pack-CI = CI im Testpaket
sort-BI-control = Kontroll-BI
sort-sterilant = Sterilisiermittel
sort-packaging = Verpackung
shown-endpoint-reached = Umschlag erreicht
shown-endpoint-not-reached = Umschlag nicht erreicht
shown-unreadable = nicht ablesbar
shown-growth = Wachstum
shown-no-growth = kein Wachstum
shown-control-grew = Kontrolle wuchs
shown-control-without-growth = Kontrolle ohne Wachstum
quantity-word-pressure = der Druck
quantity-word-temperature = die Temperatur
quantity-word-concentration = die Konzentration
quantity-word-humidity = die Feuchte
quantity-word-power = die Leistung
quantity-word-conductivity = die Leitfähigkeit
allowed-first-cycle-of-the-day = erster Zyklus des Tages
allowed-program = Programm
allowed-pulses = Pulse
allowed-load-size = Größe der Beladung

## Befunde: die Aufzeichnungen, auf denen sie beruhen
evidence-bi = { $record }: { $shown }
evidence-indicator = { $record } { $shown }
evidence-released = { $record } freigegeben
evidence-its-bi = { $record }, BI
evidence-stage = { $record }: Phase { $stage }
evidence-cause = { $record }: { $cause }
evidence-rejected = { $record } abgewiesen: { $cause }
evidence-aborted = { $record } abgebrochen: { $cause }
evidence-aborted-in = { $record } abgebrochen in der Phase { $stage }: { $cause }
evidence-abort-factor = { $record } abgebrochen
evidence-rejection-factor = { $record } abgewiesen
evidence-not-signed = { $record } nicht unterschrieben
evidence-read-after = { $record }: nach { $hours } Stunden abgelesen
evidence-missing = { $record }: davor fehlen die Zählerstände { $first } bis { $last }

## Befunde: wie viel
effect-times = { $own } gegen { $others } { $among }: { $ratio }-mal so oft, bei { $level } % Vertrauen { $low }- bis { $high }-mal.
effect-weekly = { $estimate } % je Woche, bei { $level } % Vertrauen { $low } bis { $high }, über { $n } Zyklen.
effect-step = { $estimate } %, bei { $level } % Vertrauen { $low } bis { $high }, über { $n } Zyklen.
effect-change = { $estimate }, bei { $level } % Vertrauen { $low } bis { $high }, über { $n } Zyklen.
effect-leak-weekly = { $estimate } { $symbol } je Woche, bei { $level } % Vertrauen { $low } bis { $high }, über { $n } Prüfungen.
effect-leak-step = { $estimate } { $symbol } mehr, bei { $level } % Vertrauen { $low } bis { $high }, über { $n } Prüfungen.
among-before = davor
among-before-and-sisters = davor und in den Schwestergeräten, denen es glich
among-sisters = in den Schwestergeräten
among-sisters-same-lots = in den Schwestergeräten mit denselben Losen und Programmen
among-other-units = in den anderen Geräten
among-other-lots = mit anderen Losen in denselben Geräten und Programmen
among-other-shifts = in allen anderen Schichten
among-otherwise = sonst
among-rest = beim Rest in denselben Geräten
among-weekdays = an Werktagen an denselben Orten
limit-minutes = seine Grenze von { $minutes } min
limit-rate = ihre Grenze von { $limit }
forecast = Geht es so weiter, erreicht sie { $limit } um den { $day } ({ $earliest } bis { $latest }).
forecast-program = Geht es so weiter, erreicht der übliche Zyklus des Programms { $program } { $limit } um den { $day } ({ $earliest } bis { $latest }).
forecast-open = offen

## Befunde: Indikatoren und Lose
bi-growth-said = Ein BI von { $unit } wuchs (Charge { $load }, { $day }); { $control }.
bi-growth-control-dead = seine Kontrolle wuchs nicht, was das Wachstum nicht aufhebt und ebenso zu klären ist
bi-growth-control-grew = seine Kontrolle wuchs, der Test gilt also
bi-growth-control-none = ein Ergebnis seiner Kontrolle ist nicht aufgezeichnet
bi-growth-recall = Die Chargen, die es in Zweifel zieht, stehen auf dem Blatt, das `loadbook recall` druckt.
bi-growth-else = Verunreinigung beim Öffnen, ein falscher Brutschrank, ein zu warm gelagertes Los.
bi-control-said = Ein Kontroll-BI von { $unit } wuchs nicht (Charge { $load }, { $day }, Los { $lot }): Der Test dieser Charge beweist nichts.
bi-control-else = Eine Kontrolle, die nie eingesetzt wurde, ein kalter Brutschrank, ein totes Los, ein Schreibfehler im Buch.
early-release-said = Charge { $load } von { $unit } enthält ein Implantat und wurde vor ihrem BI-Ergebnis freigegeben, am { $at } ({ $when }).
early-release-read = abgelesen { $at }
early-release-unread = noch nicht abgelesen
early-release-else = Eine Notfreigabe, die anderswo dokumentiert ist; ein Schreibfehler im Buch.
lot-said-indicators = { $own } Indikatoren des Loses { $lot } ({ $sort }) versagten, gegen { $others } mit anderen Losen.
lot-said-sterilant = { $own } Zyklen mit dem Los { $lot } ({ $sort }) wurden wegen des Sterilisiermittels abgebrochen oder abgewiesen, gegen { $others } mit anderen Losen.
lot-said-packaging = { $own } Chargen mit dem Los { $lot } ({ $sort }) wurden wegen Feuchte abgebrochen oder wegen Berührung abgewiesen, gegen { $others } mit anderen Losen.
lot-follows-lot = Das Versagen folgt dem Los durch { $units }, nicht einem Gerät.
lot-follows-unit = Es folgt eher { $unit } als dem Los.
lot-undecided = Los oder Gerät: Die Aufzeichnungen können es nicht unterscheiden.
lot-at-least-double = Die Wahrscheinlichkeit, dass dieses Los mindestens doppelt so oft versagt wie die anderen, ist { $p }.
lot-elsewhere = In anderen Geräten als { $unit }: { $own } mit dem Los, { $others } mit anderen (p { $p }).
lot-not-elsewhere = In anderen Geräten als { $unit } wurde das Los nicht verwendet, oder es versagte nichts.
lot-otherwise = { $unit } mit anderen Losen: { $own }; die Schwestergeräte mit denselben Losen: { $others } (p { $p }).
lot-else-lot = Was sich sonst in diesen Geräten änderte, während das Los in Gebrauch war: Lose folgen zeitlich aufeinander.
lot-else-unit = Womit { $unit } beladen wird.
lot-else-undecided = { $unit } selbst in den Tagen dieses Loses.
lot-next-tell = Zum Unterscheiden: etwa { $n } Verwendungen des Loses { $lot } in einem anderen Gerät und ebenso viele eines anderen Loses in { $unit }. Liegt es am Los, zeigt sich das im anderen Gerät mit { $certainty } % Sicherheit; zeigt sich nichts, { $unit } ansehen.
indicator-unit-said = { $n } von { $of ->
    [one] { $of } Indikator
   *[other] { $of } Indikatoren
} ({ $sort }) versagten in { $unit }, mehr als in den Schwestergeräten mit denselben Losen: { $own } gegen { $others }.
indicator-unit-else = Andere Beladungen als in den Schwestergeräten, oder andere Hände, die die Indikatoren einlegen.

## Befunde: Abbrüche und Abweisungen
abort-rise-said = { $unit } brach { $own } seiner letzten Zyklen ab, gegen { $before } davor.
abort-rise-else = Andere Beladungen, Leute oder Vorräte als davor; eine Änderung dessen, was gezählt wird, etwa jemand, der Zyklen früh von Hand abbricht.
causes-printed = Gedruckte Ursachen: { $causes }.
abort-unit-said = { $unit } bricht öfter ab als seine Schwestergeräte in denselben Programmen: { $own } gegen { $others }.
abort-unit-cause-said = { $unit } bricht öfter ab als seine Schwestergeräte in denselben Programmen (Ursache: { $cause }): { $own } gegen { $others }.
abort-unit-else = Andere Beladungen als in den Schwestergeräten; { $programs ->
    [0] das eine Programm ist
    [one] das eine Programm ist
   *[other] Programme sind
} berücksichtigt.
abort-cluster-said = { $unit } brach { $n }-mal binnen { $within } vom { $first } bis { $last } ab, von { $all } in allen seinen { $cycles } Zyklen.
abort-cluster-else = Dieselbe Beladung, immer wieder gefahren, bis ihr Fehler gefunden war.
abort-factor-said = { $factor } brachen öfter ab als der Rest (Ursache: { $cause }): { $own } gegen { $others }.
rejection-factor-said = { $factor } wurden öfter abgewiesen als der Rest (Ursache: { $cause }): { $own } gegen { $others }.
rejection-unit-said = { $unit } weist öfter Beladungen ab als seine Schwestergeräte (Ursache: { $cause }): { $own } gegen { $others }.
rejection-cluster-said = { $unit } wies { $n } von { $of } Beladungen vom { $first } bis { $last } ab (Ursache: { $cause }) und { $otherwise } in seinen anderen { $cycles } Zyklen.
rejection-cluster-else = Dieselbe Beladung, unter ihrer Nummer wieder eingesetzt, bis ihr Fehler gefunden war; andere Beladungen als in den Schwestergeräten.
factor-program = Zyklen des Programms { $program }
factor-shift = Zyklen in der { $shift }
factor-operator = Zyklen, gestartet von { $operator }
factor-first-of-day = erste Zyklen des Tages
factor-loads-with = Beladungen mit { $what }
factor-on-shift = { $what } in der { $shift }
factor-packaging = Verpackung { $packaging }
factor-set-alone = Beladungen mit { $what } in anderen Schichten: { $share }.
factor-shift-alone = Andere Zyklen in der { $shift }: { $share }.
factor-neither = Alle anderen: { $share }.
factor-else-not-program = Das Programm erklärt es nicht: Innerhalb von Gerät und Programm bleibt der Unterschied (p { $p }).
factor-else-perhaps-program = Das Programm kann es erklären: Innerhalb von Gerät und Programm ist der Unterschied weniger sicher (p { $p }).
factor-else-program-open = Das Programm kann es erklären: Die Aufzeichnungen können die beiden nicht unterscheiden.
factor-else-comes-with = Wer und was mit diesen Beladungen kommt: Trocknen, Packen, Zeitdruck, der Raum.
set-repeats-said = Sets, die scheiterten, scheitern binnen einer Woche öfter wieder als andere: { $own } gegen { $others }.
set-repeats-most = Am häufigsten: { $sets }.
set-repeats-else = Eine Beladung, die unverändert wiederholt wurde, und eine Art Set, die an jedem Tag öfter scheitert.

## Befunde: Dauern, Messwerte und Dichtheit
do-evacuate = Evakuieren
do-inject = Einspritzen
do-warm = Aufwärmen
do-condition = Konditionieren
do-exhaust = Ablassen
do-vent = Belüften
do-dry = Trocknen
do-stage = Abschluss der Phase { $stage }
drift-longer = { $unit } braucht immer länger zum { $do }: { $weekly } % je Woche, { $change } % vom { $from } bis { $to }.
drift-shorter = { $unit } braucht immer kürzer zum { $do }: { $weekly } % je Woche, { $change } % vom { $from } bis { $to }.
drift-programs = In jedem Programm, je Woche: { $programs }.
drift-program = { $program } { $weekly } % ({ $n } Zyklen)
drift-else = Immer größere oder feuchtere Beladungen; ein Messgerät, das wandert.
step-longer = { $unit } braucht seit dem { $day } { $change } % länger zum { $do }.
step-shorter = { $unit } braucht seit dem { $day } { $change } % kürzer zum { $do }.
step-else = Andere Beladungen seit diesem Tag.
series-allowed-for = { $what } { $n ->
    [one] ist berücksichtigt und erklärt
   *[other] sind berücksichtigt und erklären
} es nicht.
alongside = Binnen drei Tagen: { $all }.
alongside-nothing = Binnen drei Tagen steht weder Wartung noch Software noch ein anderes Los des Sterilisiermittels in den Aufzeichnungen.
alongside-service = Wartung am { $day }: „{ $note }“
alongside-software = Software { $version } ab { $day }
alongside-lot = Los { $lot } des Sterilisiermittels ab { $day }
short-stage-completed = { $cycle } hatte { $minutes } min { $stage } von mindestens { $least }, obwohl der Zyklus als vollständig gedruckt ist.
short-stage-aborted = { $cycle } hatte { $minutes } min { $stage } von mindestens { $least } und wurde darin abgebrochen.
short-stage-else = Eine Uhr, die im Zyklus sprang.
short-stage-next-gas = Ethylenoxid ist giftig, krebserzeugend und brennbar: Niemand darf die Charge anfassen, bevor sie den Rest ihrer Auslüftung nach der Gebrauchsanweisung des Geräts hatte.
curve-said = { $unit }, Phase { $stage }: { $quantity } { $since }, ohne Alarm.
curve-said-usually = { $unit }, Phase { $stage }: { $quantity } { $since } (üblich { $usual } { $symbol } am Ende der Phase), ohne Alarm.
curve-moved-above = wanderte vom { $first } bis { $last } auf { $change } über den üblichen Verlauf
curve-moved-below = wanderte vom { $first } bis { $last } auf { $change } unter den üblichen Verlauf
curve-since-above = liegt seit dem { $day } { $change } über dem früheren Verlauf
curve-since-below = liegt seit dem { $day } { $change } unter dem früheren Verlauf
curve-else = Ein Messgerät, das wandert; andere Beladungen.
leak-creeps = Die Leckrate von { $unit } steigt langsam: von etwa { $low } am { $first } auf etwa { $high } am { $last }.
leak-jumped = Die Leckrate von { $unit } ist seit dem { $day } um { $change } höher.
leak-else = Wasser in der Kammer, eine noch warme Kammer, ein Messgerät, das wandert.

## Befunde: Aufzeichnungen
unsigned-shift-said = { $own } vollständige Chargen in der { $shift } vom { $day } ({ $place }) hat niemand unterschrieben, gegen { $others } in allen anderen.
unsigned-shift-named = { $shift } vom { $day }
unsigned-shift-else = Eine Seite des Buchs, die fehlt oder nicht übertragen wurde.
bi-read-late-said = BI, die am Wochenende fällig sind, werden spät abgelesen (mehr als { $hours } Stunden nach dem Einsetzen): { $own }, gegen { $others } an Werktagen.
bi-read-late-named = am Wochenende fällig
bi-read-late-place = { $place }: { $own } am Wochenende, { $others } an Werktagen.
bi-read-late-else = Ein Ort, der am Wochenende geschlossen ist.
printouts-missing-said = { $unit } verliert öfter Ausdrucke als die anderen Geräte: { $own } gegen { $others }.
printouts-missing-else = Ein Stapel Streifen, der nicht eingelesen wurde.

## Befunde, gezeichnet
unusual-title = Was ungewöhnlich ist
unusual-nothing = Nichts, was über den Zufall hinausgeht, in { $n } Vergleichen.
unusual-caption = Aus { $n } Vergleichen, das Schwerste zuerst; jede Zeile führt zum Ganzen.
unusual-what = Was
unusual-about = Worum
unusual-much = Wie viel
unusual-more = { $n ->
    [one] Und { $n } weiterer unten.
   *[other] Und { $n } weitere unten.
}
unusual-method = { $n } Vergleiche wurden für { $questions } Fragen gemacht. Jeder ist um die Zahl der Vergleiche seiner Frage berichtigt; der hingenommene Anteil zufälliger Befunde steht bei jedem. Tatsachen, die keine Statistik brauchen, haben kein p. Ein Befund ist ein Grund hinzusehen, kein Urteil; die Wartungsanleitung des Geräts und die örtliche Regelung entscheiden. Berichtigung:
unusual-correction = Benjamini und Hochberg, J. R. Statist. Soc. B 57, 1995
unusual-of-month = Was ungewöhnlich ist und auf Aufzeichnungen dieses Monats beruht. Verglichen wurde über alle Aufzeichnungen.
unusual-of-month-nothing = Nichts Ungewöhnliches beruht auf Aufzeichnungen dieses Monats; { $n } Vergleiche wurden über alle Aufzeichnungen gemacht.
unusual-known = Was von diesem Gerät und diesen Losen bekannt ist
unusual-known-about = Über alle Aufzeichnungen gefunden und für diesen Zyklus oder diese Charge von Belang: { $n }. Ob es mit dem Geschehenen zu tun hat, entscheidet, wer es untersucht.
finding-much = Wie viel
finding-sure = Wie sicher
finding-sure-said = p { $p }, { $adjusted } nach Berichtigung für { $n ->
    [one] einen Vergleich
   *[other] { $n } Vergleiche
}; bis { $accepted } wird hingenommen.
finding-fact = Eine Tatsache der Aufzeichnungen, keine Statistik.
finding-also = Außerdem
finding-else = Was es sonst erklärt
finding-cannot = Was es nicht sagt
finding-how = Verfahren
finding-evidence = Belege
finding-rests-here = { $n ->
    [one] { $n } Aufzeichnung dieses Zyklus oder dieser Charge ist ein Beleg dafür.
   *[other] { $n } Aufzeichnungen dieses Zyklus oder dieser Charge sind Belege dafür.
}
much-limit = Grenze um { $day }
much-times = { $ratio }-mal so oft
much-percent-weekly = { $estimate } % je Woche
much-records = { $n ->
    [one] { $n } Aufzeichnung
   *[other] { $n } Aufzeichnungen
}
subject-lot = Los { $lot }

## Rangfolge für die Wartung
rank-title = Welches Gerät zuerst anzusehen ist
rank-lead = Zuerst { $unit } ansehen: Hinweise { $evidence }.
rank-lead-none = Kein Gerät fällt über den Zufall hinaus auf.
rank-caption = Geräte nach den Hinweisen darauf, dass sie Wartung brauchen
rank-rank = Rang
rank-evidence = Hinweise
rank-p = Gemeinsames p
rank-from = Vor allem aus
rank-part = { $about } (p { $p })
rank-comparisons = { $n } Vergleiche wurden insgesamt gemacht.
rank-how = Wie die Reihenfolge entsteht
rank-method = Für jedes Gerät und jede Frage wird das kleinste p dessen, was das Gerät betrifft, mal der Zahl solcher Vergleiche (Bonferroni), über die Fragen durch das harmonische Mittel der p zusammengefasst (Wilson, PNAS 116, 2019), gewichtet danach, wie sehr die Frage das Gerät selbst betrifft. Ein BI mit Wachstum geht als p 0,001 ein. Abbrüche aus Ursachen, die bei der Beladung liegen (Feuchte, Berührung, von Hand abgebrochen), gehen nicht ein. Die Reihenfolge sagt, wo zuerst hinzusehen ist, nicht was kaputt ist; was getan wird, entscheidet die Wartungsanleitung des Geräts.
rank-found = Was vom Gerät gefunden wurde
rank-found-nothing = Vom Gerät wurde nichts gefunden, was über den Zufall hinausgeht.
strength-strong = stark
strength-clear = deutlich
strength-some = etwas
strength-none-beyond-chance = keine über den Zufall hinaus
much-percent = { $estimate } %
chart-jump = Sprung
chart-finding = Befund { $n }
found-legend = Durchgezogene Linie: der gefundene Trend; gestrichelt weiter: wohin er führt, wenn es so weitergeht, bis zum Ring, mit dem Intervall des Tages als Balken an der Grenze. Gestrichelt senkrecht: der Tag eines gefundenen Sprungs.
unusual-comparisons = Aus { $n } Vergleichen, das Schwerste zuerst
phrase-quoted = „{ $what }“
finding-next = Was als Nächstes zu prüfen ist
