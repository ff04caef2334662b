# The texts of the reports in English. Keys are the same in every language; a test holds them to it.

## Numbers and dates
percent = { $n } %
month-1 = January
month-2 = February
month-3 = March
month-4 = April
month-5 = May
month-6 = June
month-7 = July
month-8 = August
month-9 = September
month-10 = October
month-11 = November
month-12 = December
month-short-1 = Jan
month-short-2 = Feb
month-short-3 = Mar
month-short-4 = Apr
month-short-5 = May
month-short-6 = Jun
month-short-7 = Jul
month-short-8 = Aug
month-short-9 = Sept
month-short-10 = Oct
month-short-11 = Nov
month-short-12 = Dec
share-of = { $n } of { $of }
share-interval = { $low } to { $high } %
share-interval-note = Below each share its exact 95 % interval.
line-n = line { $n }
more = and { $n } more
n-cycles = { $n ->
    [one] { $n } cycle
   *[other] { $n } cycles
}

## The page
page-brand = loadbook · sterile processing records
page-skip = To the report
page-contents = Contents
page-kept = Sterile processing records
page-made = Made by loadbook { $version }
page-number = Page
page-of = of
page-masked = Staff marks are replaced by numbers.
page-foot = loadbook says what the records support and what they lack. People release, hold and recall.

## Facts at the head
facts-period = { $first } to { $last }
facts-as-of = As of { $at }
facts-newest = newest record
facts-scope = Only { $scope }
facts-intake = { $files ->
    [one] { $files } file
   *[other] { $files } files
}, { $lines } lines, { $entries } log entries
scope-from = from { $day }
scope-to = to { $day }
scope-units = unit { $names }
scope-programs = program { $names }
scope-everything = all records

## Words
word-unit = Unit
word-program = Program
word-stage = Stage
word-cycles = Cycles
word-loads = Loads
word-load = Load
word-lines = Lines
word-lot = Lot
word-expiry = Expiry
word-all = All

## Processes, purposes, stages, quantities
process-plasma = Peroxide plasma
process-steam = Steam
process-eo = Ethylene oxide
process-not-known = process not known
purpose-load = load
purpose-leak-test = leak test
purpose-air-removal-test = air-removal test
purpose-warm-up = warm-up
stage-none = stage not printed
stage-warm = warm
stage-evacuate = evacuate
stage-inject = inject
stage-diffuse = diffuse
stage-plasma = plasma
stage-condition = condition
stage-expose = expose
stage-exhaust = exhaust
stage-dry = dry
stage-aerate = aerate
stage-settle = settle
stage-hold = hold
stage-vent = vent
quantity-pressure = Pressure
quantity-temperature = Temperature
quantity-concentration = Concentration
quantity-humidity = Relative humidity
quantity-power = Plasma power
quantity-conductivity = Conductivity
consumable-sterilant = Sterilant
consumable-ci = Chemical indicator
consumable-bi = Biological indicator
consumable-packaging = Packaging
consumable-other = Other
position-external = external CI
position-internal = internal CI
position-test-pack = CI in a test pack
position-not-stated = CI, position not stated
endpoint-reached = endpoint reached
endpoint-not-reached = endpoint not reached
endpoint-unreadable = unreadable
endpoint-none = no result
role-test = Test BI
role-control = Control BI
growth-growth = growth
growth-no-growth = no growth
growth-none = no result
lot-action-opened = opened
lot-action-finished = finished
severity-error = error
severity-warning = warning
severity-note = note

## Causes
cause-none = cause not printed
cause-moisture = moisture in the load
cause-package-contact = a package touches the wall or another part
cause-sensor-obstructed = a sensor is obstructed
cause-sterilant-empty = sterilant supply empty
cause-sterilant-expired = sterilant supply expired
cause-sterilant-unread = sterilant supply not recognised
cause-pressure-not-reached = set pressure not reached in time
cause-pressure-lost = pressure rose or fell out of its band
cause-temperature-low = temperature too low
cause-temperature-high = temperature too high
cause-injection-low = too little sterilant injected
cause-concentration-low = sterilant concentration too low
cause-humidity-low = humidity too low
cause-plasma-power-low = plasma power too low or unsteady
cause-air-present = air left in the chamber
cause-supply-fault = steam, water, air or power supply outside its range
cause-door-open = door not closed or locked
cause-power-lost = power lost
cause-operator-stopped = stopped by the operator
cause-sensor-fault = a sensor failed

## What to look at, by cause: common practice, no source
check-moisture = Drying before packaging, lumens blown through; then door seal, pump and its oil.
check-package-contact = How the chamber is loaded: distance to walls, electrode and other packages.
check-sensor-obstructed = What lay before the sensor; its window and its place.
check-sterilant-empty = Counting of uses; how the supply is changed.
check-sterilant-expired = Stock rotation; expiry at the time of loading.
check-sterilant-unread = Label and reader of the supply; storage of the supply.
check-pressure-not-reached = Door seal, pump and its oil, valves, drain; for steam the supply pressure.
check-pressure-lost = Door seal, valves, leak test.
check-temperature-low = Heating, sensors, steam supply and its dryness; loading.
check-temperature-high = Heating control, sensors.
check-injection-low = Supply, dosing, vaporiser and its lines.
check-concentration-low = Supply, vaporiser, temperature of the load, materials that take up sterilant.
check-humidity-low = Humidifying supply, conditioning time, dryness of the load.
check-plasma-power-low = Power supply, electrode, moisture in the load.
check-air-present = Air-removal test, door seal, steam quality, packing of the load.
check-supply-fault = The supply that is out of range, with the building's service.
check-door-open = Door switch, lock and seal.
check-power-lost = Supply of the room, fuses; what else went off then.
check-operator-stopped = Ask why it was stopped, and note it in the log.
check-sensor-fault = The sensor, its cable and its calibration.
check-title = What to look at
check-none = No cause was printed that would point to a part.

## Outcomes
outcome-completed = Completed
outcome-aborted = Aborted
outcome-aborted-in = Aborted in { $stage }
outcome-rejected = Rejected before exposure
outcome-rejected-short = Rejected
outcome-passed = Passed
outcome-failed = Failed
outcome-unproven = Outcome not proven

## What was seen
seen-bi = { $role }: { $result }
seen-read = read { $at }
seen-incubated = incubated { $at }
seen-ci-type = type { $type }
seen-lot = lot { $lot }
seen-lot-expiry = lot { $lot }, expiry { $day }
seen-incubating = (incubating for { $time })
seen-near = the number may be a slip for { $load }
seen-missing = { $n ->
    [one] counter { $first }, between { $between }
   *[other] counters { $first } to { $last }, between { $between }
}
seen-near-miss = { $log } in the log, { $strip } on the strip
seen-torn = printout torn off before its first stage
seen-torn-in = printout torn off during { $stage }
seen-leak-limit = { $rate }, limit { $limit }

## What was signed
state-released = Released
state-open = Open
state-settled = Settled
signed-nothing = nothing signed
signed-hold = on hold
signed-recalled = recalled
signed-run-again = run again as { $cycle }
signed-passed-since = passed since, { $cycle }
signed-not-passed-since = not passed since
signed-no-load-number = no load number, nothing signed
signed-not-found = not found
signed-not-joined = not joined
signed-not-read = not read
signed-not-settled = not settled

## Entries of the log
entry-load = Put into unit
entry-counter = counter { $counter }
entry-content = Set
entry-items = { $n ->
    [one] { $n } item
   *[other] { $n } items
}
entry-packages = { $n ->
    [one] { $n } package
   *[other] { $n } packages
}
entry-implant = IMPLANT
entry-to = to { $to }
entry-ci = Read:
entry-lot = Lot
entry-release = Released
entry-hold = Put on hold
entry-recall = Recalled
entry-service = Service
entry-remark = Remark

## What needs a person
need-next = Next:
need-bi-growth = BI growth
need-bi-growth-next = Hold the load, and recall it if it has left. Tell the supervisor and infection prevention. Take the unit out of use until local policy lets it return.
need-bi-control-no-growth = BI control without growth
need-bi-control-no-growth-next = The BI result of these loads proves nothing. Hold them, check the BI lot and the incubator, and repeat the test with a control that grows.
need-ci-not-reached = CI endpoint not reached
need-ci-not-reached-next = Do not use the package. Look at the whole load before any of it is used: packing, placing, unit.
need-unit-test-failed = Leak or air test failed
need-unit-test-failed-next = Run no load in the unit until the test has been passed. Call service if it fails again.
need-cycle-aborted = Cycle aborted
need-cycle-aborted-next = Treat the load as not processed. Find the cause, repack, run it again, and sign what was decided.
need-load-rejected = Load rejected
need-load-rejected-next = Treat the load as not processed. Put the cause right, run it again, and sign what was decided.
need-printout-torn = Printout torn off
need-printout-torn-next = Find the rest of the strip, or print it again from the unit's memory. Until then its outcome is not proven.
need-released-lacking = Released, records lacking
need-released-lacking-next = Find what is lacking and enter it. If it can't be found, decide by local policy whether the load is recalled.
need-evidence-lacking = Not signed, records lacking
need-evidence-lacking-next = Enter what is lacking before the load is released.
need-patient-data = Lines like patient data
need-patient-data-next = Remove them from the file. loadbook needs no patient's name, number or date of birth, and repeats none.
need-file-unread = Files not read
need-file-unread-next = Check the file. What it holds is missing from this review.
need-printout-missing = Printouts missing
need-printout-missing-next = Print them again from the unit's memory, or find the strips.
need-lines-unread = Lines not read
need-lines-unread-next = `loadbook read` shows each with what is wrong. Correct them from the original strip or page.
need-load-number-near-miss = Load number may be a slip
need-load-number-near-miss-next = Compare both with the load record. If it is a slip, correct it in the log; nothing was joined.
need-clocks-disagree = Clocks that disagree
need-clocks-disagree-next = Set the unit's clock, and note when.
need-record-doubtful = Records in doubt
need-record-doubtful-next = Find out what is right from the original strip, page or unit, and correct the file.
needs-caption = In order of harm. Open: nothing signed. Settled: on hold, recalled, run again or passed since.
needs-seen = What was seen
needs-found = Found
needs-newest = Newest
first-caption = The first cases, in order of harm
first-more = { $n ->
    [one] { $n } more case is open; it follows below.
   *[other] { $n } more cases are open; they follow below.
}
case-about = About
case-when = When
case-seen = What was seen
case-signed = Signed
case-where = Where
case-more = { $n ->
    [one] { $n } more, with its place:
   *[other] { $n } more, each with its place:
}
caution-title = Take care
caution-peroxide = Peroxide cycle aborted or rejected: liquid peroxide may remain on packages and in the chamber. Wear gloves.
caution-gas = Ethylene oxide: do not handle the load before its aeration has ended.
caution-hot = Steam: chamber, rack and packages are hot.
caution-defers = The device's instructions for use and local policy decide.

## Review
review-title = Review of sterilization records
front-needs = What needs a person
front-first = Begin with
front-nothing = Nothing in the records needs a person.
lead-against = { $n ->
    [one] { $n } load was released although its records speak against it.
   *[other] { $n } loads were released although their records speak against them.
} { $open ->
    [one] { $open } case is open in all.
   *[other] { $open } cases are open in all.
}
lead-open = { $n ->
    [one] { $n } case is open. No load was released against its records.
   *[other] { $n } cases are open. No load was released against its records.
}
lead-nothing = Nothing in the records needs a person.
figure-cycles = cycles with a load
figure-of-all = of { $n } in all
figure-loads = loads
figure-units = { $n ->
    [one] in { $n } unit
   *[other] in { $n } units
}
figure-aborted = aborted
figure-rejected = rejected
figure-missing = printouts missing
figure-unread = lines not read
counts-title = Cycles by unit and program
programs-caption = Cycles with a load; each count leads to its cycles
programs-share = Aborted or rejected
tests-caption = Tests and warm-ups
tests-what = Run as
tests-passed = Passed
tests-failed = Failed
aborts-title = Aborts by stage and cause
rejections-title = Rejections by cause
pareto-none = None.
pareto-caption = The most frequent first; in brackets the share of all so far
pareto-bar = { $n } ({ $share })
pareto-about = { $n } cycles in all, the most frequent first. { $bars }
pareto-rows = { $title }: the cycles
pareto-cause = Cause
pareto-units = By unit
pareto-which = Which
lengths-title = How long cycles took
lengths-about = Completed cycles of each unit and program. Each point is a cycle, the thin line the middle of them; dotted lines mark service and new software.
lengths-about-limits = Completed cycles of each unit and program. Each point is a cycle; rings lie outside the control limits (dashed), between which a length stays while only chance is at work. Dotted lines mark service and new software, dashed vertical ones a change of level.
series-caption = { $n ->
    [one] { $n } cycle
   *[other] { $n } cycles
}
series-about = { $n } cycles from { $first } to { $last }. Middle { $median } min, shortest { $lowest } min, longest { $highest } min. Outside the limits: { $outside }.
series-constant = Always of the same length:
chart-minutes = min
chart-median = middle { $value }
chart-centre = middle { $value }
chart-upper = upper { $value }
chart-lower = lower { $value }
chart-limit = limit { $value }
chart-service = service
chart-software = software { $version }
chart-change = change
lots-title = Lots
lots-about = { $n ->
    [one] { $n } lot was used; { $against } with something against it.
   *[other] { $n } lots were used; { $against } with something against them.
} A lot that stands here need not be the cause: its unit, program and loads may be.
lots-caption = Lots with something against them: aborted cycles, endpoints not reached, growth, controls without growth
lots-kind = Kind
lots-used = Used
lots-against = Against
lots-share = Share
records-title = Records and clocks
clocks-caption = The units' clocks against the log's
clocks-median = Middle difference
clocks-loads = Loads compared
clocks-habit = More than habits explain
clocks-more = yes: set the clock
clocks-usual = no
clock-behind = { $time } behind the log
clock-ahead = { $time } ahead of the log
resets-caption = Counters that began again
resets-from = Last of the old count
resets-to = First of the new count
resets-service = Service entry
resets-none = none in the log

## Monthly
monthly-title = Infection prevention, { $month }
monthly-unfinished = The month has not ended.
monthly-nothing = No records.
monthly-lead = { $growth ->
    [0] No biological indicator grew, of { $read } read.
    [one] { $growth } biological indicator grew, of { $read } read.
   *[other] { $growth } biological indicators grew, of { $read } read.
} { $open ->
    [0] No exception is open.
    [one] { $open } exception is open.
   *[other] { $open } exceptions are open.
}
monthly-caption = The month and the months before it, all sites together.
monthly-figures-title = Figures and what is behind them
monthly-cycles = Cycles with a load
monthly-loads = Loads
monthly-aborted = Aborted cycles
monthly-rejected = Rejected loads
monthly-unproven = Outcome not proven
monthly-growth = BI with growth, of those read
monthly-dead = BI controls without growth, of those read
monthly-waiting = BI without a result
monthly-ci = CI not reached or unreadable, of those read
monthly-implants = Loads with an implant
columns-cycles = Cycles: aborted or rejected, of all
columns-against = aborted or rejected
columns-others = others
columns-indicators = Biological indicators: growth, of those read
columns-growth = growth
columns-dead = control without growth
columns-no-growth = no growth
positives-title = Positive indicators and invalid tests
positives-none = None in this month.
schedule-title = Was the testing schedule kept?
schedule-about = What the records show. How often a test is due is for the department's policy to say.
schedule-caption = Loads and days with a biological indicator; days with a passed leak or air-removal test, of days with one
schedule-loads = Completed loads with a BI
schedule-days = Days in use with a BI
schedule-without = Days in use without a BI
schedule-none = none
schedule-leak = Leak test passed
schedule-air = Air-removal test passed
implants-title = Implants
implants-none = No load with an implant in this month.
implants-caption = { $n ->
    [one] { $n } load with an implant
   *[other] { $n } loads with an implant
}
implants-bi = Biological indicator
implants-released = Released
implant-grew = grew
implant-without = without a BI in the log
implant-not-read = BI has no result
implant-early = released before the BI was read
implant-fine = no growth, read before release
exceptions-title = Exceptions and how they were closed
exceptions-none = None in this month.
exceptions-about = Settled: on hold, recalled, run again or passed since. Open: nothing signed. Released: signed although something speaks against it or is lacking.

## Service
service-title = Service sheet
service-lead = { $n ->
    [one] What the records of { $n } unit show of its state.
   *[other] What the records of { $n } units show of their state.
}
service-caption = The units
service-unit = { $unit } – { $process }
service-process = Process
service-alarms = Alarms
service-leak = Last leak test
service-limit = limit { $limit }
service-last = Last service
service-none = none in the log
service-defers = The device's service instructions decide what is done and by whom.
service-serial = Serial number
service-software = Software
service-clock = Clock
service-endings = Aborted and rejected
alarms-caption = Alarms by cause and month
since-title = Since the last service
since-about = Service on { $at }.
since-caption = Middle length of each stage before and since, in minutes
since-before = Before
since-since = Since
since-change = Change
leaks-title = Leak tests
leaks-caption = { $n ->
    [one] { $n } test
   *[other] { $n } tests
}; crosses were not passed
leaks-about = { $n } tests; highest { $highest } { $unit }, last { $last } { $unit }; not passed: { $failed }.
stages-title = How long stages took

## Investigation
investigation-title = Investigation
investigation-no-outcome = The records give no outcome.
happened-title = What happened, in order
happened-caption = From printouts and log
happened-when = When
happened-source = Source
happened-what = What
happened-log = log
what-began = Cycle began
what-stage = Stage: { $stage }
what-alarm = ALARM: { $cause }
curves-title = Stage curves of { $cycle }
curves-about = Solid: this cycle. Grey: the range of the { $n } good cycles of the same unit and program before it, at the same time after each stage's beginning. Dashed: limits as printed. Rings: outside the range. Numbers above: stages, named below. Compared with
curves-alone = Solid: this cycle. Too few good cycles of the same unit and program stand before it to compare with. Dashed: limits as printed. Numbers above: stages, named below.
curve-title = { $quantity }, { $unit }
curve-about = { $n } readings from { $lowest } to { $highest } { $unit }; { $outside } outside the range of the good cycles. Alarms in this cycle: { $alarms }.
different-title = What was different in { $cycle }
different-caption = { $n ->
    [0] Length of stages in minutes
   *[other] Length of stages in minutes, beside the { $n } good cycles before
}
different-here = This cycle
different-median = Middle
different-range = Range
different-limit = Limit
different-said = Compared
different-longer = longer than any
different-shorter = shorter than any
different-within = within their range
different-unknown = nothing to compare with
bound-min = { $quantity } at least { $value } { $unit }
bound-max = { $quantity } at most { $value } { $unit }
outside-caption = Readings outside the range of the good cycles
outside-quantity = Quantity
outside-n = Readings outside
outside-first = First of them
uses-title = Where else the lots were used
uses-none = No lot is named.
uses-caption = Other uses of the same lots
uses-others = Other uses
uses-which = Those with something against them
use-aborted = aborted
use-rejected = rejected
use-torn-off = torn off
use-no-outcome = no outcome
use-failed = failed
use-not-reached = endpoint not reached
use-unreadable = unreadable
use-growth = growth
use-control-no-growth = control without growth
before-title = What the unit did before
before-caption = The last ten: aborts, rejections, failed tests, service
before-none = Nothing of the kind before it in the records.
cause-title = Cause, action and signatures
room-cause = Cause, as found
room-load = What was done with the load and what was in it
room-action = What was done so that it does not happen again
room-done = What was done
printout-title = The printout, as read
fact-unit = Unit
fact-serial = Serial number
fact-software = Software
fact-place = Place
fact-zone = Time zone
fact-process = Process
fact-purpose = Run as
fact-program = Program
fact-counter = Counter
fact-load = Load
fact-operator = Operator
fact-began = Began
fact-ambient = Ambient pressure
fact-leak = Leak rate
fact-first-record = First record

## Signatures
sign-title = Signatures
sign-caption = Read and agreed
sign-role = Role
sign-name = Name
sign-date = Date
sign-signature = Signature
sign-manager = Manager, sterile processing
sign-quality = Quality
sign-prevention = Infection prevention
sign-technician = Technician

## Appendices
index-title = Appendix: the cycles counted
index-about = Each cycle with its counter and, after the colon, the line of the file on which its printout opens.
reading-title = Appendix: how the files were read
unread-none = Every line was read.
unread-caption = Lines that could not be read, by count
unread-why = Why
noticed-caption = What reading and joining noticed
noticed-what = What
noticed-weight = Weight
noticed-n = Times
inputs-title = Appendix: inputs
inputs-caption = { $n ->
    [one] { $n } file
   *[other] { $n } files
}
inputs-file = File
inputs-bytes = Bytes
inputs-encoding = Encoding
inputs-layout = Layout
inputs-neutral = neutral
made-by = Program
made-as-of = Speaks for
made-scope = Scope
made-strict = Lines that need inference
made-infer = read, and said
made-refuse = refused
made-masking = Staff marks
made-shown = as in the records
made-masked = replaced by numbers
lines-title = Appendix: the lines referred to
lines-about = Each line that a row of this report leads to, as it stands in its file.
quote-line = Line
quote-text = Text
quote-withheld = (looks like patient data and is not repeated)
quote-unreadable = (can't be read again)

## Decisions and rules
decisions-title = What the records support
decisions-about = What the records of each load support, beside what people have signed. loadbook records support; people release.
decisions-caption = Loads by what their records support
decisions-support = Records support
decision-release = Release
decision-quarantine = Quarantine
decision-hold = Hold
decision-reject = Reject
decision-recall = Recall
decision-means-release = All that the policy asks for is there, and nothing speaks against it.
decision-means-quarantine = Complete, and awaiting a biological indicator.
decision-means-hold = Evidence is missing, or contradicts itself.
decision-means-reject = There is evidence against it.
decision-means-recall = There is evidence against it, and a person had let it go.
effect-note = note
effect-quarantine = quarantine
effect-hold = hold
effect-reject = reject
rules-caption = The rules that decide
notes-caption = What rules noted that decides nothing
rules-rule = Rule
rules-effect = Effect
rules-source = Source
rules-which = Loads
loads-title = Appendix: loads by decision
loads-about = Each load with, after the colon, the line of the file that names it; and for all but releases the rules that decide.
policy-said = { $n ->
    [0] Judged by the policy { $names }, without deviations.
    [one] Judged by the policy { $names }, with { $n } deviation from its preset.
   *[other] Judged by the policy { $names }, with { $n } deviations from its preset.
}
policy-title = Appendix: policy
policy-key = What
policy-preset = Preset { $preset }
policy-here = Here
because-caption = The rules that decide
besides-caption = Other rules that found something
steps-caption = How the decision moved as records came
steps-since = Since
steps-rules = Rules
seen-scope = in the scope of BI growth in { $loads }
schedule-rule = { $n ->
    [0] By the policy the schedule was kept.
    [one] By the policy { $n } load lacks the BI that was due:
   *[other] By the policy { $n } loads lack the BI that was due:
}

## Recall
recalls-title = Recall scopes
recall-none = No biological indicator grew, so there is no scope.
recall-title = { $unit }: growth in { $loads }
recall-totals = { $loads ->
    [one] { $loads } load
   *[other] { $loads } loads
} with { $sets ->
    [one] { $sets } set
   *[other] { $sets } sets
} in { $packages ->
    [one] { $packages } package
   *[other] { $packages } packages
}: { $left } let go, { $called } called back, { $here } still here.
recall-open = The scope has not ended: no satisfactory indicator came after it.
recall-missing = { $n ->
    [one] { $n } cycle without a printout lies within.
   *[other] { $n } cycles without a printout lie within.
}
recall-bounds = What grew, and what bounds the scope:
recall-caption = The loads of the scope
recall-whereabouts = Packages
recall-sets = Sets
recall-went = Went to
recall-grew = BI grew
recall-not-counted = not processed by this run
recall-left = let go
recall-called = called back
recall-here = still here
need-recall-scope = In a recall scope
need-recall-scope-next = `loadbook recall` prints the sheet. Find the packages, keep them apart, process them again, and enter what was called back.
need-evidence-against = Evidence against the load
need-evidence-against-next = `loadbook show LOAD` tells which rule, and where. Keep the load here, or find it if it has left, and process it again.

## Rules, by id
rule-air-removal-test-missing = No air-removal test on the day before the load
rule-air-removal-test-not-passed = Last air-removal test before the load not passed
rule-alarm-in-completed-cycle = Alarm in a cycle printed as completed
rule-bi-control-missing = No control for the BI
rule-bi-control-no-growth = BI control did not grow
rule-bi-control-not-read = BI control not read
rule-bi-control-of-other-lot = BI control of another lot
rule-bi-growth = BI grew
rule-bi-growth-in-unit = Within the span that another load's BI growth puts in doubt
rule-bi-incubation-unknown = Incubation of the BI not known
rule-bi-not-read = BI that the policy asks for not read
rule-bi-overdue = BI no longer readable in time
rule-bi-read-too-early = BI read before its least incubation
rule-bi-read-too-late = BI read after its longest incubation
rule-bi-role-not-stated = BI without a word on test or control
rule-bi-schedule-not-kept = BI not run as often as the policy asks
rule-ci-endpoint-not-reached = CI endpoint not reached
rule-ci-external-missing = No external CI with a result
rule-ci-internal-missing = No internal CI with a result for every set
rule-ci-type-not-accepted = CI of a type that the policy does not accept there
rule-ci-type-not-stated = CI without position or type
rule-ci-unreadable = CI unreadable
rule-clock-changed-in-cycle = Clock changed within the cycle
rule-clocks-disagree = Clock of the unit and of the log disagree
rule-contents-not-listed = Contents not listed
rule-contents-unfit-for-plasma = Contents that a peroxide process must not take
rule-cycle-not-completed = Cycle not printed as completed
rule-cycle-time-unknown = Beginning of the cycle not known
rule-eo-aeration-short = Aeration shorter than published
rule-eo-concentration-outside-range = Ethylene-oxide concentration outside the published range
rule-eo-exposure-long = Exposure to ethylene oxide longer than published
rule-eo-exposure-short = Exposure to ethylene oxide shorter than published
rule-eo-gas-not-recorded = Concentration or humidity of the exposure not printed
rule-eo-humidity-outside-range = Humidity of the exposure outside the published range
rule-eo-temperature-not-recorded = Temperature of the exposure not printed
rule-eo-temperature-outside-range = Temperature of the exposure outside the published range
rule-held-by-person = Held by a person
rule-implant-bi-not-read = BI with the implant not read, or not counting
rule-implant-left-before-bi-read = Implant let go before its BI was read
rule-implant-not-stated = Set without a word on implants
rule-implant-without-bi = Implant without a BI
rule-leak-rate-above-limit = Leak rate above the limit
rule-leak-test-missing = Leak test not as often as the policy asks
rule-leak-test-not-passed = Last leak test before the load not passed
rule-load-not-in-log = Load not in the log
rule-load-number-near-miss = Load number may be a slip
rule-load-number-on-two-units = Load number on two units
rule-load-run-again = Load run before under the same number
rule-log-contradicts-printout = Log contradicts the printout
rule-lot-expired = Lot expired
rule-lot-not-stated = Lot not stated
rule-lot-open-too-long = Lot open longer than the policy allows
rule-lot-opening-not-logged = Opening of the lot not in the log
rule-lot-past-its-uses = Supply used more often than it has uses
rule-lot-used-after-finished = Lot used after it was finished
rule-lot-used-before-opened = Lot used before it was opened
rule-not-signed = Neither release nor hold signed
rule-outcome-not-printed = Outcome not printed
rule-plasma-cycle-length-unusual = Peroxide cycle of unusual length
rule-plasma-temperature-high = Peroxide cycle warmer than its process
rule-policy-none-in-force = No policy in force on the day
rule-printout-checksum-wrong = Checksum of the printout wrong
rule-printout-lines-unread = Lines of the printout not read
rule-printout-missing = Printout missing
rule-printout-reprinted = Cycle printed more than once
rule-printout-torn = Printout torn
rule-printout-totals-differ = Totals of the printout disagree with its lines
rule-process-not-known = Process not known
rule-reading-outside-band = Reading outside the printed limits
rule-recalled-by-person = Recalled by a person
rule-released-before-evidence = Let go before the records supported it
rule-stage-length-unknown = Length of a stage with a limit not known
rule-stage-missing = Stage missing or out of order
rule-stage-reading-missing = Reading missing where a limit is printed
rule-stage-too-long = Stage longer than its limit
rule-stage-too-short = Stage shorter than its limit
rule-steam-bi-growth-in-unit = Steam load within the span of another load's BI growth
rule-steam-f0-low = F0 lower than the policy asks
rule-steam-holding-time-short = Holding time of the band not reached
rule-steam-not-saturated = Temperature and pressure disagree with saturated steam
rule-steam-temperature-outside-band = Temperature outside one band of exposure

## What reading noticed, by code
code-file-unreadable = A path could not be opened or read.
code-file-empty = A file holds no bytes.
code-file-not-text = A file is not text: it holds bytes that no printout or log has.
code-file-skipped = A path inside a folder was passed over: it is hidden, not a regular file, or a loop of links.
code-file-changed = A file changed while it was being read, so its last lines may be missing.
code-archive-damaged = Something in the archive is not as it was added: it was changed, or is missing.
code-encoding-inferred = A file is not UTF-8; its bytes were read as Windows-1252.
code-line-too-long = A line is longer than any record's line can be.
code-line-outside-record = A line stands before any opening line, so it belongs to no record.
code-line-unknown = A line of a record has none of the forms that its format knows.
code-line-cut = A line ends in the middle of a value, at a width where printers and captures cut lines.
code-version-unknown = An opening line names a version of the format that this loadbook does not know.
code-key-unknown = A line has a keyword that its format does not know.
code-value-invalid = A value does not have the form that its keyword asks for.
code-value-missing = A keyword has no value, or a line lacks a value that it can't do without.
code-unit-unknown = A number stands without a unit, or with one that does not measure this quantity.
code-number-ambiguous = A number can be read in two ways: its comma may mark decimals or thousands.
code-number-out-of-range = A number lies outside what the quantity can have at all (such as below absolute zero).
code-date-invalid = A date or time does not exist in the calendar or on the clock.
code-field-repeated = A record says the same thing twice with two different values; the first was kept.
code-patient-data = A line looks like patient data, which has no place here. It is counted and not repeated.
code-check-digit-wrong = A scanned GTIN has a wrong check digit, so at least one digit was misread.
code-scan-invalid = A scanned element string does not follow the GS1 General Specifications.
code-csv-row-uneven = A row of a CSV log has more cells than its header has columns.
code-csv-header-unknown = A column of a CSV log has a heading that the format does not know; its cells were left.
code-strict-refused = In strict mode a line was refused because reading it would have meant inferring something.
code-printout-torn = A printout ends before its `end` line: the strip was torn off, or the capture stopped.
code-checksum-wrong = The lines of a printout do not give the checksum that it prints: something in it was changed, lost or added.
code-total-wrong = A printout's total does not agree with its own lines: a line was lost, added or changed.
code-field-missing = A printout lacks a line that every printout has.
code-decimal-comma = A comma was read as the decimal mark.
code-midnight-passed = The clock went from late to early within a cycle, read as passing midnight.
code-clock-stepped-back = The clock went back by an hour within a cycle, read as the change from summer time.
code-clock-went-back = A time is earlier than the one before it, and neither midnight nor the change from summer time explains it.
code-clock-lost = A cycle carries a date from before such records were kept: the unit's clock lost its setting.
code-reprint-kept-once = The same cycle was printed more than once; one is counted.
code-reprint-differs = Two printouts claim to be the same cycle and differ; both are kept apart.
code-printout-missing = The cycle counter skips numbers: printouts of those cycles are missing.
code-counter-reset = The cycle counter began again, as it does after service.
code-load-without-printout = The log names a load for which there is no printout.
code-cycle-without-log = A printout names a load of which the log says nothing.
code-cycle-without-load = A printout of a processed load carries no load number.
code-load-number-near-miss = Two load numbers differ by a slip of the hand and may be the same load; they were not joined.
code-load-number-reused = The same load number stands on cycles of different units or days.
code-log-contradicts-printout = The log gives another unit or cycle counter for a load than its printout does.
code-clocks-disagree = A unit's clock and the clock of the log differ by more than people's habits explain.
code-local-hour-skipped = A local time does not exist: clocks skipped it when summer time began.
code-local-hour-doubled = A local time came twice, because clocks went back; which of the two is meant is inferred.
code-zone-unknown = No time zone is given, so local times are compared as they stand.
code-time-inferred = A line has no time of its own, and its printer's layout knows none: it was taken from the line after or before it.
code-date-inferred = A cycle's date does not stand in its own printout; it was taken from a date printed above it.
code-slip-repaired = A character that a scan had misread was put right, because what stands there can be read in one way only.
code-layout-invalid = A layout does not say what it should, or says it in a way that loadbook does not know.
code-layout-ambiguous = Several layouts fit a file equally well, so that none of them was used.
