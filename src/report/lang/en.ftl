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
code-line-repeated = A line stands twice in a row, the same to the last digit: one of the two may be a copy.
code-lines-merged = A text holds a keyword with its colon: two lines may have run together. It was kept as it stands.
code-word-near-miss = A word is a slip away from one that the format knows. It was kept as it stands.
code-field-missing = A printout lacks a line that every printout has.
code-decimal-comma = A comma was read as the decimal mark.
code-midnight-passed = The clock went from late to early within a cycle, read as passing midnight.
code-clock-stepped-back = The clock went back by an hour within a cycle, read as the change from summer time.
code-clock-went-back = A time is earlier than the one before it, and neither midnight nor the change from summer time explains it.
code-clock-lost = A cycle carries a date from before such records were kept: the unit's clock lost its setting.
code-reprint-kept-once = The same cycle was printed more than once; one is counted.
code-reprint-differs = Two printouts claim to be the same cycle and differ; both are kept apart.
code-unlike-neighbours = A printout says something else than the unit's printouts before and after it, which agree.
code-course-differs = A completed cycle has other stages or other limits than nearly all cycles of its unit and program.
code-reading-spike = A reading lies far from those just before and just after it, farther than a chamber moves and comes back.
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

## Findings: what each question asks, how, what it can't tell, what to check next
finding-bi-growth = BI growth
finding-bi-growth-question = Did a biological indicator grow after its cycle?
finding-bi-growth-method = A fact, no statistics: one growth is enough, whatever its control showed. Which loads it puts in doubt is drawn by the policy (CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008, recommendations on sterilization, 16), and stands in the recall sheet.
finding-bi-growth-cannot-tell = Whether the cycle, the indicator, the incubator or the handling is to blame.
finding-bi-growth-next-1 = Hold and recall by local policy all loads of the recall sheet, not the one load alone.
finding-bi-growth-next-2 = Keep the unit out of use until it has been checked and repeat tests are negative.
finding-bi-control-no-growth = BI control without growth
finding-bi-control-no-growth-question = Did a control fail to grow, so that its test proves nothing?
finding-bi-control-no-growth-method = A fact, no statistics (MMWR 52(RR-17), 2003, VI.F.6: a control of the same lot is incubated with the test).
finding-bi-control-no-growth-cannot-tell = Whether the lot was dead or the incubator cold.
finding-bi-control-no-growth-next-1 = Do not count the test as negative; repeat it.
finding-bi-control-no-growth-next-2 = Check the incubator's temperature and the lot's storage.
finding-released-before-bi = Implant released before its BI
finding-released-before-bi-question = Was a load with an implant released before its biological indicator was read?
finding-released-before-bi-method = A fact, no statistics: the release entry is earlier than the read time (MMWR 52(RR-17), 2003, VI.F.7: implants are quarantined until the results are known).
finding-released-before-bi-cannot-tell = Whether an emergency was documented elsewhere.
finding-released-before-bi-next-1 = Look for the documented reason and who was told.
finding-released-before-bi-next-2 = Go through the release step with the shift.
finding-stage-too-short = Stage shorter than its limit
finding-stage-too-short-question = Was a stage shorter than its printed least time, whatever the outcome says?
finding-stage-too-short-method = A fact, no statistics: the stage's length on the unit's own clock against the limit on the same strip.
finding-stage-too-short-cannot-tell = Whether the load was treated further elsewhere.
finding-stage-too-short-next-1 = Find the load; let nobody handle it before it has had the rest by the device's instructions for use.
finding-stage-too-short-next-2 = Ask why the unit printed what it did.
finding-indicator-lot = Indicator failures and a lot
finding-indicator-lot-question = Do indicators of one lot fail more often than those of other lots in the same unit and program?
finding-indicator-lot-method = Exact conditional test and mid-p over 2x2 tables by unit and program (Gart, Biometrika 57, 1970; Mehta, Patel and Gray, JASA 80, 1985), lots against each other within units, units against each other within lots; probability of at least double from the same exact likelihood with a flat prior on the log ratio.
finding-indicator-lot-cannot-tell = Whether the lot is faulty or shows truly what other lots miss: each load stays held.
finding-indicator-lot-next-1 = Hold the loads until each is decided by local policy.
finding-indicator-lot-next-2 = Run the lot beside another lot in the same loads, and ask the manufacturer; keep unused indicators of it.
finding-indicator-unit = Indicator failures and a unit
finding-indicator-unit-question = Do indicators fail more often in one unit than in its sister units with the same lot?
finding-indicator-unit-method = Exact conditional test and mid-p over 2x2 tables by lot (Gart 1970; Mehta, Patel and Gray 1985).
finding-indicator-unit-cannot-tell = Whether the unit or what is loaded into it is to blame.
finding-indicator-unit-next-1 = Compare loading and packing with the sister units.
finding-indicator-unit-next-2 = Ask service to check exposure: sterilant dose or steam, temperature, time.
finding-abort-rise = More aborts than before
finding-abort-rise-question = Does a unit abort more often of late than before and than its sister units?
finding-abort-rise-method = The last 200 cycles against all before, exact conditional test over programs with mid-p (Gart 1970); where the unit was like its sisters before, they join the comparison.
finding-abort-rise-cannot-tell = Why: loads, people, supplies and the unit change together. Units with less than 400 cycles are not asked: even a doubled rate would be missed more often than found.
finding-abort-rise-next-1 = Look at the causes printed since then, and at what changed: loads, drying, packing, supplies, service.
finding-abort-rise-next-2 = If the causes are the unit's own (pressure, injection, power), ask service to look at them.
finding-abort-unit = More aborts than sister units
finding-abort-unit-question = Does a unit abort, or abort for one cause, more often than units of the same process in the same programs?
finding-abort-unit-method = Exact conditional test over programs with mid-p (Gart 1970; Mehta, Patel and Gray 1985).
finding-abort-unit-cannot-tell = Whether the unit or its loads differ; compare what is put into it.
finding-abort-unit-next-1 = Compare the loads, drying and packing with those of the sister units.
finding-abort-unit-next-2 = If the cause is the unit's own (pressure, injection, power), ask service to look at it.
finding-abort-factor = Aborts gather on some loads
finding-abort-factor-question = Do aborts of one cause gather on a set, packaging, program, shift or person, or on a set on a shift?
finding-abort-factor-method = Exact conditional test over units with mid-p (Gart 1970) for each, and for each pair of set and shift; the surest is reported, its cycles are taken out, and the rest is asked again, so that a part is not blamed for the whole.
finding-abort-factor-cannot-tell = Cause and effect: what gathers together changes together.
finding-abort-factor-next-1 = Watch how these loads are rinsed, dried and packed, and on which shift.
finding-abort-factor-next-2 = Dry lumens and joints fully before packaging, by the instruments' own instructions.
finding-abort-cluster = Aborts in a cluster
finding-abort-cluster-question = Do a unit's aborts come together in a few cycles?
finding-abort-cluster-method = Scan statistic over the cycles' order, so that busy days don't count, with a seeded Monte-Carlo p (Naus, JASA 60, 1965; Kulldorff, Communications in Statistics 26, 1997).
finding-abort-cluster-cannot-tell = Why; a cluster that has ended may have been put right already.
finding-abort-cluster-next-1 = Look at what was different on these days: supplies, water, steam, loads, people, service.
finding-supply-lot = Aborts and a lot of supplies
finding-supply-lot-question = Do cycles with one lot of sterilant or packaging abort or get rejected more often than with other lots in the same unit and program?
finding-supply-lot-method = As for indicator lots; for sterilant the causes are injection and concentration, for packaging moisture and contact.
finding-supply-lot-cannot-tell = Lots follow each other in time, so whatever else changed at that time is mixed with the lot.
finding-supply-lot-next-1 = Keep what is left of the lot, run another beside it, and ask the manufacturer.
finding-supply-lot-next-2 = Check storage and expiry.
finding-leak-creep = Leak rate creeps
finding-leak-creep-question = Does a unit's leak rate rise from test to test, or jump?
finding-leak-creep-method = Mann-Kendall test with correction for autocorrelation (Hamed and Rao, J. Hydrology 204, 1998; never below 1), Pettitt's test for a step (Applied Statistics 28, 1979); Theil-Sen slope (Sen, JASA 63, 1968); the day of the limit by inverse regression with Fieller's interval (J. R. Statist. Soc. B 16, 1954).
finding-leak-creep-cannot-tell = Where the leak is.
finding-leak-creep-next-1 = Ask service to look at the door seal and the valves before a test fails.
finding-leak-creep-next-2 = Clean and look at the seal by the device's instructions for use.
finding-stage-drift = A stage drifts
finding-stage-drift-question = Does a stage of a unit grow longer or shorter from cycle to cycle, program, first cycle of the day, load size and pulses allowed for?
finding-stage-drift-method = Logarithms of stage lengths, less the medians of program and first of day and the slope on load size and pulses; Mann-Kendall test with correction for autocorrelation (Hamed and Rao 1998; never below 1), Theil-Sen slope (Sen 1968), day of the limit by inverse regression with Fieller's interval (1954).
finding-stage-drift-cannot-tell = Whether pump, seals, valves, gauge or loads changed.
finding-stage-drift-next-1 = Ask service to look at the pump and its oil, the door seal and the valves before loads abort.
finding-stage-drift-next-2 = Check that loads are dried before packaging.
finding-stage-step = A stage jumped
finding-stage-step-question = Did the length of a stage jump from one day to the next and stay there?
finding-stage-step-method = Pettitt's test (Applied Statistics 28, 1979) on the same allowed-for lengths as the drift, against a steady drift by the sum of absolute residuals; service entries, software and sterilant lots within three days are named.
finding-stage-step-cannot-tell = Whether what happened on the same days made it.
finding-stage-step-next-1 = Ask what was done to the unit on that day, and whether its settings were checked afterwards.
finding-curve-drift = Readings leave their usual course
finding-curve-drift-question = Do the readings of a stage move away from the unit's own usual course, though no alarm came?
finding-curve-drift-method = Readings aligned by the share of the stage that has passed, against the unit's own median and spread in the same program at that share; the cycles' median deviation is then tested like a stage's length.
finding-curve-drift-cannot-tell = Whether the quantity or its gauge has changed.
finding-curve-drift-next-1 = Ask service to check the quantity and its gauge: vaporiser and injection for concentration, generator for power, seals and pump for pressure.
finding-rejection-cluster = Load rejections gather
finding-rejection-cluster-question = Do load rejections of one cause come together in time or on one unit?
finding-rejection-cluster-method = Scan statistic over the cycles' order with a seeded Monte-Carlo p (Naus 1965), and exact conditional test against the sister units (Gart 1970).
finding-rejection-cluster-cannot-tell = Whether the sensor, the loading or the supply is to blame.
finding-rejection-cluster-next-1 = Look at the part that the cause names, and at how loads are laid in this unit.
finding-rejection-cluster-next-2 = Ask service to check the sensor if it comes again.
finding-rejection-factor = Load rejections gather on a kind of load
finding-rejection-factor-question = Do rejections of one cause gather on a set, packaging, program, shift or person?
finding-rejection-factor-method = As for aborts.
finding-rejection-factor-cannot-tell = Cause and effect: what gathers together changes together.
finding-rejection-factor-next-1 = Watch how these loads are packed and laid.
finding-set-repeats = The same set fails again
finding-set-repeats-question = Does a set that was aborted or rejected fail again within days more often than others fail?
finding-set-repeats-method = Uses within seven days of a failure of the same set against all other uses: exact conditional test over units with mid-p (Gart 1970).
finding-set-repeats-cannot-tell = Whether the set or its handling is to blame.
finding-set-repeats-next-1 = Take the set out, and go through rinsing, drying and packing of it step by step.
finding-unsigned-shift = A shift without signatures
finding-unsigned-shift-question = On which shifts were more loads left without a signature than the usual slips explain?
finding-unsigned-shift-method = Exact binomial test of each shift against the rate of all others.
finding-unsigned-shift-cannot-tell = Whether the loads were checked and only the signature is missing.
finding-unsigned-shift-next-1 = Ask who was on that shift, and have each load decided by local policy.
finding-bi-read-late = BIs read late
finding-bi-read-late-question = Are biological indicators read late more often when they are due at the weekend?
finding-bi-read-late-method = Read more than six hours after the usual time (the median) counts as late; exact test of the weekend against weekdays (Fisher, 1935), over the places.
finding-bi-read-late-cannot-tell = Whether someone looked in time and wrote later.
finding-bi-read-late-next-1 = Arrange for someone to read them at weekends, or run the tests on days whose reading falls on a weekday.
finding-printouts-missing = Printouts missing from a unit
finding-printouts-missing-question = Does one unit lose more printouts than the others?
finding-printouts-missing-method = Exact test of two rates: missing counters of the unit against those of the others (Fisher, 1935).
finding-printouts-missing-cannot-tell = Missing printouts at the very beginning or end of the records.
finding-printouts-missing-next-1 = Look at the printer: paper, ribbon, jams. Print the missing strips again from the unit's memory.

## Findings: parts of sentences
phrase-name = { $name }
phrase-record = { $record }
phrase-sentences = { $all }
phrase-counted = { $name } { $n }
phrase-measured = { $value } { $symbol }
phrase-more = +{ $what }
phrase-less = -{ $what }
phrase-share = { $n } of { $of } ({ $percent } %)
phrase-and = { $first } and { $last }
p-below = below { $p }
ratio-open = any number
shift-early = early
shift-late = late
shift-night = night
shift-weekend = weekend
process-word-plasma = plasma
process-word-steam = steam
process-word-eo = eo
sort-internal-CI = internal CI
sort-external-CI = external CI
sort-test-pack-CI = test-pack CI
sort-BI-control = BI control
sort-sterilant = sterilant
sort-packaging = packaging
shown-endpoint-reached = endpoint reached
shown-endpoint-not-reached = endpoint not reached
shown-unreadable = unreadable
shown-growth = growth
shown-no-growth = no growth
shown-control-grew = control grew
shown-control-without-growth = control without growth
quantity-word-pressure = pressure
quantity-word-temperature = temperature
quantity-word-concentration = concentration
quantity-word-humidity = humidity
quantity-word-power = power
quantity-word-conductivity = conductivity
allowed-first-cycle-of-the-day = first cycle of the day
allowed-program = program
allowed-pulses = pulses
allowed-load-size = load size

## Findings: the records that they rest on
evidence-bi = { $record }: { $shown }
evidence-indicator = { $record } { $shown }
evidence-released = { $record } released
evidence-its-bi = { $record } BI
evidence-stage = { $record }: stage { $stage }
evidence-cause = { $record }: { $cause }
evidence-rejected = { $record } rejected: { $cause }
evidence-aborted = { $record } aborted: { $cause }
evidence-aborted-in = { $record } aborted in { $stage }: { $cause }
evidence-abort-factor = { $record } aborted
evidence-rejection-factor = { $record } rejected
evidence-not-signed = { $record } not signed
evidence-read-after = { $record }: read after { $hours } hours
evidence-missing = { $record }: counters { $first } to { $last } missing before this

## Findings: how much
effect-times = { $own } against { $others } { $among }: { $ratio } times as often, and { $low } to { $high } times with { $level } % confidence.
effect-weekly = { $estimate } % a week, { $low } to { $high } with { $level } % confidence, over { $n } cycles.
effect-step = { $estimate } %, { $low } to { $high } with { $level } % confidence, over { $n } cycles.
effect-change = { $estimate }, { $low } to { $high } with { $level } % confidence, over { $n } cycles.
effect-leak-weekly = { $estimate } { $symbol } per week, { $low } to { $high } with { $level } % confidence, over { $n } tests.
effect-leak-step = { $estimate } { $symbol } more, { $low } to { $high } with { $level } % confidence, over { $n } tests.
among-before = before
among-before-and-sisters = before and in the sister units, which it was like
among-sisters = in its sister units
among-sisters-same-lots = in its sister units with the same lots and programs
among-other-units = in the other units
among-other-lots = with other lots in the same units and programs
among-other-shifts = on all other shifts
among-otherwise = otherwise
among-rest = among the rest in the same units
among-weekdays = on weekdays at the same places
limit-minutes = its limit of { $minutes } min
limit-rate = its limit of { $limit }
forecast = If it goes on, it meets { $limit } about { $day } ({ $earliest } to { $latest }).
forecast-program = If it goes on, the usual { $program } cycle meets { $limit } about { $day } ({ $earliest } to { $latest }).
forecast-open = open

## Findings: indicators and lots
bi-growth-said = A BI of { $unit } grew (load { $load }, { $day }); { $control }.
bi-growth-control-dead = its control did not grow, which does not undo the growth and has to be explained as well
bi-growth-control-grew = its control grew, so the test is valid
bi-growth-control-none = no result of its control is in the records
bi-growth-recall = The loads that it puts in doubt stand in the recall sheet (`loadbook recall`).
bi-growth-else = Contamination when it was opened, a wrong incubator, a lot kept too warm.
bi-control-said = A control BI of { $unit } did not grow (load { $load }, { $day }, lot { $lot }): the test of that load proves nothing.
bi-control-else = A control that was never put in, a cold incubator, a dead lot, a slip in the log.
early-release-said = Load { $load } of { $unit } holds an implant and was released { $at } before its BI result ({ $when }).
early-release-read = read { $at }
early-release-unread = not read yet
early-release-else = An emergency release that was documented elsewhere; a slip in the log.
lot-said-indicators = { $own } indicators of lot { $lot } ({ $sort }) failed, against { $others } with other lots.
lot-said-sterilant = { $own } cycles of lot { $lot } ({ $sort }) were aborted or rejected for the sterilant, against { $others } with other lots.
lot-said-packaging = { $own } loads of lot { $lot } ({ $sort }) were aborted for moisture or rejected for contact, against { $others } with other lots.
lot-follows-lot = The failures follow the lot through { $units }, not one unit.
lot-follows-unit = They follow { $unit } rather than the lot.
lot-undecided = Lot or unit: the records can't tell.
lot-at-least-double = The probability that this lot fails at least twice as often as the others is { $p }.
lot-elsewhere = In units other than { $unit }: { $own } with the lot, { $others } with others (p { $p }).
lot-not-elsewhere = The lot was not used, or nothing failed, in units other than { $unit }.
lot-otherwise = { $unit } with other lots: { $own }; its sister units with the same lots: { $others } (p { $p }).
lot-else-lot = Whatever else changed in these units while the lot was in use: lots follow each other in time.
lot-else-unit = What { $unit } is loaded with.
lot-else-undecided = { $unit } itself in the days of this lot.
lot-next-tell = To tell: about { $n } uses of lot { $lot } in another unit, and as many of another lot in { $unit }. If the lot is to blame, failures show in the other unit with { $certainty } % certainty; if none shows, look at { $unit }.
indicator-unit-said = { $n } of { $of ->
    [one] { $of } indicator
   *[other] { $of } indicators
} ({ $sort }) failed in { $unit }, more than in its sister units with the same lots: { $own } against { $others }.
indicator-unit-else = Other loads, or other hands that place the indicators, than in the sister units.

## Findings: aborts and rejections
abort-rise-said = { $unit } aborted { $own } of its last cycles, against { $before } before.
abort-rise-else = Other loads, people or supplies than before; a change of what is counted, such as an operator who stops cycles early.
causes-printed = Causes printed: { $causes }.
abort-unit-said = { $unit } aborts more often than its sister units in the same programs: { $own } against { $others }.
abort-unit-cause-said = { $unit } aborts for { $cause } more often than its sister units in the same programs: { $own } against { $others }.
abort-unit-else = Other loads than in the sister units; { $programs ->
    [0] the one program is
    [one] the one program is
   *[other] programs are
} allowed for.
abort-cluster-said = { $unit } aborted { $n } times within { $within } between { $first } and { $last }, of { $all } in all its { $cycles } cycles.
abort-cluster-else = The same load run again and again before its fault was found.
abort-factor-said = { $factor } aborted for { $cause } more often than the rest: { $own } against { $others }.
rejection-factor-said = { $factor } were rejected for { $cause } more often than the rest: { $own } against { $others }.
rejection-unit-said = { $unit } rejects loads because { $cause } more often than its sister units: { $own } against { $others }.
rejection-cluster-said = { $unit } rejected { $n } of { $of } loads between { $first } and { $last } because { $cause }, and { $otherwise } in its other { $cycles } cycles.
rejection-cluster-else = The same load put in again under its number before its fault was found; other loads than in the sister units.
factor-program = cycles of program { $program }
factor-shift = cycles on the { $shift } shift
factor-operator = cycles started by { $operator }
factor-first-of-day = first cycles of the day
factor-loads-with = loads with { $what }
factor-on-shift = { $what } on the { $shift } shift
factor-packaging = a { $packaging }
factor-set-alone = Loads with { $what } on other shifts: { $share }.
factor-shift-alone = Other cycles on the { $shift } shift: { $share }.
factor-neither = All others: { $share }.
factor-else-not-program = The program does not explain it: within unit and program the difference stands (p { $p }).
factor-else-perhaps-program = The program may explain it: within unit and program the difference is less sure (p { $p }).
factor-else-program-open = The program may explain it: the records can't tell the two apart.
factor-else-comes-with = Whoever and whatever comes with these loads: drying, packing, time pressure, the room.
set-repeats-said = Sets that failed fail again within a week more often than others: { $own } against { $others }.
set-repeats-most = Most often: { $sets }.
set-repeats-else = A load run again as it was, and a kind of set that fails more often on any day.

## Findings: lengths, readings and leaks
do-evacuate = pump down
do-inject = inject
do-warm = warm up
do-condition = condition the load
do-exhaust = exhaust
do-vent = vent
do-dry = dry
do-stage = finish the stage { $stage }
drift-longer = { $unit } takes ever longer to { $do }: { $weekly } % a week, { $change } % from { $from } to { $to }.
drift-shorter = { $unit } takes ever shorter to { $do }: { $weekly } % a week, { $change } % from { $from } to { $to }.
drift-programs = In each program, a week: { $programs }.
drift-program = { $program } { $weekly } % ({ $n } cycles)
drift-else = Ever larger or damper loads; a gauge that drifts.
step-longer = { $unit } takes { $change } % longer to { $do } since { $day }.
step-shorter = { $unit } takes { $change } % shorter to { $do } since { $day }.
step-else = Other loads since that day.
series-allowed-for = { $what } { $n ->
    [one] is allowed for and does
   *[other] are allowed for and do
} not explain it.
alongside = Within three days: { $all }.
alongside-nothing = No service, software or other sterilant lot is in the records within three days.
alongside-service = service on { $day }: { $note }
alongside-software = software { $version } from { $day }
alongside-lot = sterilant lot { $lot } from { $day }
short-stage-completed = { $cycle } had { $minutes } min of { $stage }, of at least { $least }, although it is printed as completed.
short-stage-aborted = { $cycle } had { $minutes } min of { $stage }, of at least { $least }, and was aborted in it.
short-stage-else = A clock that jumped during the cycle.
short-stage-next-gas = Ethylene oxide is toxic, a carcinogen and flammable: let nobody handle the load before the rest of its aeration by the device's instructions for use.
curve-said = In { $unit } the { $quantity } of stage { $stage } { $since }, without an alarm.
curve-said-usually = In { $unit } the { $quantity } of stage { $stage } { $since } (usually { $usual } { $symbol } at the end of the stage), without an alarm.
curve-moved-above = has moved to { $change } above its course between { $first } and { $last }
curve-moved-below = has moved to { $change } below its course between { $first } and { $last }
curve-since-above = has been { $change } above its former course since { $day }
curve-since-below = has been { $change } below its former course since { $day }
curve-else = A gauge that drifts; other loads.
leak-creeps = The leak rate of { $unit } creeps up: from about { $low } on { $first } to about { $high } on { $last }.
leak-jumped = The leak rate of { $unit } has been { $change } higher since { $day }.
leak-else = Water left in the chamber, a chamber that was still warm, a gauge that drifts.

## Findings: records
unsigned-shift-said = No one signed { $own } completed loads on the { $shift } shift of { $day } at { $place }, against { $others } on all others.
unsigned-shift-named = { $shift } shift of { $day }
unsigned-shift-else = A page of the log that is missing or was not entered.
bi-read-late-said = BIs due at a weekend are read late (more than { $hours } hours after being put in): { $own }, against { $others } on weekdays.
bi-read-late-named = due at a weekend
bi-read-late-place = { $place }: { $own } at weekends, { $others } on weekdays.
bi-read-late-else = A place that is closed at weekends.
printouts-missing-said = { $unit } loses printouts more often than the other units: { $own } against { $others }.
printouts-missing-else = A stack of strips that was not scanned.

## Findings, drawn
unusual-title = What is unusual
unusual-nothing = Nothing beyond chance in { $n } comparisons.
unusual-caption = From { $n } comparisons, worst first; each leads to the whole of it.
unusual-what = What
unusual-about = About
unusual-much = How much
unusual-more = { $n ->
    [one] And { $n } more below.
   *[other] And { $n } more below.
}
unusual-method = { $n } comparisons were made for { $questions } questions. Each is corrected for the number of its question's; the share of chance findings that is accepted stands with each. Facts that need no statistics have no p. A finding is a reason to look, not a verdict; the device's service instructions and local policy decide. Correction:
unusual-correction = Benjamini and Hochberg, J. R. Statist. Soc. B 57, 1995
unusual-of-month = What is unusual and rests on records of this month. The comparisons were made over all records.
unusual-of-month-nothing = Nothing unusual rests on records of this month; { $n } comparisons were made over all records.
unusual-known = What is known of this unit and these lots
unusual-known-about = Found over all records and bearing on this cycle or load: { $n }. Whether it has to do with what happened is for whoever investigates.
finding-much = How much
finding-sure = How sure
finding-sure-said = p { $p }, { $adjusted } after correction for { $n ->
    [one] one comparison
   *[other] { $n } comparisons
}; up to { $accepted } is accepted.
finding-fact = A fact of the records, no statistics.
finding-also = Also
finding-else = What else explains it
finding-cannot = It can't tell
finding-how = Method
finding-evidence = Evidence
finding-rests-here = { $n ->
    [one] { $n } record of this cycle or load is evidence of it.
   *[other] { $n } records of this cycle or load are evidence of it.
}
much-limit = limit by { $day }
much-times = { $ratio } times
much-percent-weekly = { $estimate } % a week
much-records = { $n ->
    [one] { $n } record
   *[other] { $n } records
}
subject-lot = lot { $lot }

## Ranking for service
rank-title = Which unit to look at first
rank-lead = Look at { $unit } first: { $evidence } evidence.
rank-lead-none = No unit stands out beyond chance.
rank-caption = Units by the evidence that they need service
rank-rank = Rank
rank-evidence = Evidence
rank-p = Combined p
rank-from = Most of it from
rank-part = { $about } (p { $p })
rank-comparisons = { $n } comparisons were made in all.
rank-how = How the order is made
rank-method = For each unit and question the smallest p of what bears on the unit, times the number of such comparisons (Bonferroni), is combined over the questions by the harmonic mean p (Wilson, PNAS 116, 2019), weighted by how much the question bears on the unit itself. A BI that grew enters as p 0.001. Aborts for causes that lie with loads (moisture, contact, stopped by hand) don't enter. The order says where to look first, not what is broken; the device's service instructions decide what is done.
rank-found = What was found of the unit
rank-found-nothing = Nothing beyond chance was found of the unit.
strength-strong = strong
strength-clear = clear
strength-some = some
strength-none-beyond-chance = none beyond chance
much-percent = { $estimate } %
chart-jump = jump
chart-finding = finding { $n }
found-legend = Solid line: the trend that was found; dashed onwards: where it leads if it goes on, up to the ring, with the interval of the day as a bar at the limit. Dashed upright: the day of a jump that was found.
unusual-comparisons = From { $n } comparisons, worst first
phrase-quoted = “{ $what }”
finding-next = What to check next
