//! Facts in the words of a language: what a case saw, what was signed, what an entry or outcome says.

use crate::diagnose::codes::Code;
use crate::record::consumable::LotIdentity;
use crate::record::cycle::{LeakResult, Outcome, Purpose};
use crate::record::entry::{BiResult, BiRole, CiResult, Entry, EntryBody};
use crate::report::attention::Case;
use crate::report::lang::{Language, Texts};
use crate::report::told::{Signature, Signed, Told};

/// A length of time in its two largest units.
pub fn length(seconds: i64) -> String {
    // The symbols of the international system are the same in every language.
    crate::report::moment::length(seconds)
}

/// What was seen.
pub fn say_seen(texts: &Texts, case: &Case) -> String {
    match &case.told {
        Told::Nothing => case.seen.clone(),
        Told::Bis(bis) => join(bis.iter().map(|(bi, by)| say_bi(texts, bi, by.as_deref()))),
        Told::Cis(cis) => join(cis.iter().map(|ci| say_ci(texts, ci))),
        Told::Judged {
            hits,
            waits_seconds,
            near,
        } => {
            let mut parts: Vec<String> = Vec::new();
            for (rule, seen) in hits {
                // The sentences of many rules are longer than a row can bear.
                let part = match texts.language() {
                    Language::English if hits.len() <= 2 => seen.clone(),
                    _ => texts.name("rule", rule.0),
                };
                if !parts.contains(&part) {
                    parts.push(part);
                }
            }
            let mut said = parts.join("; ");
            if let Some(seconds) = waits_seconds {
                said.push(' ');
                let time = length(*seconds);
                said.push_str(&texts.with("seen-incubating", &[("time", time.into())]));
            }
            if let Some(near) = near {
                said.push_str("; ");
                said.push_str(&texts.with("seen-near", &[("load", near.as_str().into())]));
            }
            said
        }
        Told::InScope { grown } => texts.with("seen-scope", &[("loads", grown.join(", ").into())]),
        Told::Ended {
            purpose,
            outcome,
            last_stage,
            leak,
        } => say_ending(
            texts,
            *purpose,
            outcome.as_ref(),
            last_stage.as_deref(),
            leak.as_ref(),
        ),
        Told::Missing {
            first,
            last,
            between,
        } => texts.with(
            "seen-missing",
            &[
                (
                    "n",
                    u64::from(last.saturating_sub(*first))
                        .saturating_add(1)
                        .into(),
                ),
                ("first", first.to_string().into()),
                ("last", last.to_string().into()),
                ("between", between.join(" · ").into()),
            ],
        ),
        Told::NearMiss { in_log, on_strip } => texts.with(
            "seen-near-miss",
            &[
                ("log", in_log.as_str().into()),
                ("strip", on_strip.as_str().into()),
            ],
        ),
        Told::Noticed { code } => say_code(texts, *code),
    }
}

fn join(parts: impl Iterator<Item = String>) -> String {
    parts.collect::<Vec<_>>().join("; ")
}

/// What a code of the table of codes means.
pub fn say_code(texts: &Texts, code: Code) -> String {
    texts.say(&format!("code-{}", code.id()))
}

/// What a biological indicator showed.
pub fn say_bi(texts: &Texts, bi: &BiResult, by: Option<&str>) -> String {
    let role = bi.role.as_ref().map_or(BiRole::Test, |role| role.value);
    let result = bi
        .growth
        .as_ref()
        .map_or("none", |growth| growth.value.word());
    let mut said = texts.with(
        "seen-bi",
        &[
            ("role", texts.name("role", role.word()).into()),
            ("result", texts.name("growth", result).into()),
        ],
    );
    if let Some(lot) = say_lot(texts, bi.lot.as_ref().map(|lot| &lot.value)) {
        said.push_str(", ");
        said.push_str(&lot);
    }
    match (&bi.read, &bi.incubated) {
        (Some(read), _) => {
            said.push_str(", ");
            said.push_str(&texts.with(
                "seen-read",
                &[("at", texts.moment(read.value.local).into())],
            ));
        }
        (None, Some(at)) => {
            said.push_str(", ");
            said.push_str(&texts.with(
                "seen-incubated",
                &[("at", texts.moment(at.value.local).into())],
            ));
        }
        (None, None) => {}
    }
    if let Some(by) = by {
        said.push_str(", ");
        said.push_str(by);
    }
    said
}

/// What a chemical indicator showed.
pub fn say_ci(texts: &Texts, ci: &CiResult) -> String {
    let mut parts = Vec::new();
    parts.push(match &ci.position {
        Some(position) => texts.name("position", position.value.word()),
        None => texts.say("position-not-stated"),
    });
    if let Some(ci_type) = &ci.ci_type {
        parts.push(texts.with(
            "seen-ci-type",
            &[("type", ci_type.value.to_string().into())],
        ));
    }
    if let Some(set) = &ci.set {
        parts.push(set.value.clone());
    }
    let endpoint = ci
        .endpoint
        .as_ref()
        .map_or("none", |endpoint| endpoint.value.word());
    format!("{}: {}", parts.join(", "), texts.name("endpoint", endpoint))
}

/// A lot with its expiry.
pub fn say_lot(texts: &Texts, lot: Option<&LotIdentity>) -> Option<String> {
    let lot = lot?;
    let number = lot.lot.as_ref()?;
    Some(match lot.expiry {
        Some(day) => texts.with(
            "seen-lot-expiry",
            &[
                ("lot", number.0.as_str().into()),
                ("day", texts.day(day).into()),
            ],
        ),
        None => texts.with("seen-lot", &[("lot", number.0.as_str().into())]),
    })
}

/// How a cycle ended, with stage and cause.
pub fn say_outcome(texts: &Texts, outcome: &Outcome) -> String {
    let cause = |cause: &Option<crate::record::cause::Cause>| {
        cause
            .as_ref()
            .map(|cause| texts.name("cause", cause.word()))
    };
    let said = |key: &str, cause: Option<String>| match cause {
        Some(cause) => format!("{}: {cause}", texts.say(key)),
        None => texts.say(key),
    };
    match outcome {
        Outcome::Completed => texts.say("outcome-completed"),
        Outcome::Passed => texts.say("outcome-passed"),
        Outcome::Failed => texts.say("outcome-failed"),
        Outcome::Rejected { cause: why } => said("outcome-rejected", cause(why)),
        Outcome::Aborted { stage, cause: why } => match stage {
            Some(stage) => {
                let place = texts.with(
                    "outcome-aborted-in",
                    &[("stage", texts.name("stage", stage.word()).into())],
                );
                match cause(why) {
                    Some(cause) => format!("{place}: {cause}"),
                    None => place,
                }
            }
            None => said("outcome-aborted", cause(why)),
        },
    }
}

fn say_ending(
    texts: &Texts,
    purpose: Purpose,
    outcome: Option<&Outcome>,
    last_stage: Option<&str>,
    leak: Option<&LeakResult>,
) -> String {
    let ended = match (outcome, last_stage) {
        (Some(outcome), _) => say_outcome(texts, outcome),
        (None, Some(stage)) => texts.with(
            "seen-torn-in",
            &[("stage", texts.name("stage", stage).into())],
        ),
        (None, None) => texts.say("seen-torn"),
    };
    let mut said = match purpose {
        Purpose::Load => ended,
        purpose => format!("{}: {ended}", texts.name("purpose", purpose.word())),
    };
    if let Some(leak) = leak {
        said.push_str(", ");
        said.push_str(&say_leak(texts, leak));
    }
    said
}

/// The result of a leak test.
pub fn say_leak(texts: &Texts, leak: &LeakResult) -> String {
    let number = |rate: crate::measure::quantity::LeakRate| {
        format!(
            "{}\u{a0}{}",
            texts.printed(rate.printed_number()),
            rate.printed_unit().symbol()
        )
    };
    match leak.limit {
        Some(limit) => texts.with(
            "seen-leak-limit",
            &[
                ("rate", number(leak.rate).into()),
                ("limit", number(limit).into()),
            ],
        ),
        None => number(leak.rate),
    }
}

/// What people have done about a case.
pub fn say_signed(texts: &Texts, signed: &Signed) -> String {
    let with = |key: Option<&str>, signature: &Signature| {
        let parts = [
            key.map(|key| texts.say(key)),
            signature.by.clone(),
            signature.at.map(|at| texts.moment(at)),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    };
    match signed {
        Signed::Nothing => texts.say("signed-nothing"),
        // That it was released stands before it as its state.
        Signed::Released(signature) => with(None, signature),
        Signed::OnHold(signature) => with(Some("signed-hold"), signature),
        Signed::Recalled(signature) => with(Some("signed-recalled"), signature),
        Signed::RunAgain(cycle) => {
            texts.with("signed-run-again", &[("cycle", cycle.as_str().into())])
        }
        Signed::PassedSince(cycle) => {
            texts.with("signed-passed-since", &[("cycle", cycle.as_str().into())])
        }
        Signed::NotPassedSince => texts.say("signed-not-passed-since"),
        Signed::NoLoadNumber => texts.say("signed-no-load-number"),
        Signed::NotFound => texts.say("signed-not-found"),
        Signed::NotJoined => texts.say("signed-not-joined"),
        Signed::NotRead => texts.say("signed-not-read"),
        Signed::NotSettled => texts.say("signed-not-settled"),
    }
}

/// What an entry of the log says, without who wrote it.
pub fn say_entry(texts: &Texts, entry: &Entry) -> String {
    let mut parts: Vec<String> = Vec::new();
    match &entry.body {
        EntryBody::Load(start) => {
            parts.push(texts.say("entry-load"));
            parts.extend(entry.unit.as_ref().map(|unit| unit.value.0.clone()));
            parts.extend(start.counter.as_ref().map(|counter| {
                texts.with(
                    "entry-counter",
                    &[("counter", counter.value.to_string().into())],
                )
            }));
            parts.extend(
                start
                    .program
                    .as_ref()
                    .map(|program| program.value.0.clone()),
            );
        }
        EntryBody::Content(content) => {
            parts.push(content.set.as_ref().map_or_else(
                || texts.say("entry-content"),
                |set| format!("{}: {}", texts.say("entry-content"), set.value),
            ));
            parts.extend(
                content
                    .n_items
                    .as_ref()
                    .map(|n| texts.with("entry-items", &[("n", u64::from(n.value).into())])),
            );
            parts.extend(
                content
                    .n_packages
                    .as_ref()
                    .map(|n| texts.with("entry-packages", &[("n", u64::from(n.value).into())])),
            );
            parts.extend(
                content
                    .packaging
                    .as_ref()
                    .map(|packaging| packaging.value.clone()),
            );
            if content
                .implant
                .as_ref()
                .is_some_and(|implant| implant.value)
            {
                parts.push(texts.say("entry-implant"));
            }
            parts.extend(
                content
                    .destination
                    .as_ref()
                    .map(|to| texts.with("entry-to", &[("to", to.value.as_str().into())])),
            );
        }
        EntryBody::Ci(ci) => {
            parts.push(format!("{} {}", texts.say("entry-ci"), say_ci(texts, ci)));
            parts.extend(say_lot(texts, ci.lot.as_ref().map(|lot| &lot.value)));
        }
        EntryBody::Bi(bi) => parts.push(say_bi(texts, bi, None)),
        EntryBody::Lot(change) => {
            parts.push(texts.say("entry-lot"));
            parts.extend(say_lot(texts, change.lot.as_ref().map(|lot| &lot.value)));
            parts.extend(
                change
                    .action
                    .as_ref()
                    .map(|action| texts.name("lot-action", action.value.word())),
            );
        }
        EntryBody::Release
        | EntryBody::Hold
        | EntryBody::Recall
        | EntryBody::Service
        | EntryBody::Remark => parts.push(texts.say(&format!("entry-{}", entry.body.word()))),
    }
    if let Some(note) = &entry.note {
        parts.push(format!("“{}”", note.value));
    }
    parts.join(", ")
}
