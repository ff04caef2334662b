//! What needs a person, drawn: the table of kinds, the cases to begin with, and every case with its evidence.

use super::Sheet;
use super::page::Section;
use super::saying::{say_seen, say_signed};
use crate::report::attention::{Case, Need, NeedKind, State, find_first};
use crate::report::caution::Caution;
use crate::report::lang::Texts;
use maud::{Markup, html};

/// So many cases of a kind are listed, and so many settled ones; the others are counted, with their places.
const MOST_LISTED: usize = 40;
const MOST_SETTLED: usize = 8;

/// What was seen, in a few words.
pub fn say_kind(texts: &Texts, kind: NeedKind) -> String {
    texts.say(&format!("need-{}", kind.id()))
}

/// What to do next.
pub fn say_next(texts: &Texts, kind: NeedKind) -> String {
    texts.say(&format!("need-{}-next", kind.id()))
}

/// A caution in full.
pub fn say_caution(texts: &Texts, caution: Caution) -> String {
    texts.say(match caution {
        Caution::PeroxideLeft => "caution-peroxide",
        Caution::GasLeft => "caution-gas",
        Caution::Hot => "caution-hot",
    })
}

/// Cautions in a frame, with what decides.
pub fn draw_cautions(texts: &Texts, cautions: &[Caution]) -> Markup {
    html! {
        @if !cautions.is_empty() {
            div class="caution" role="note" {
                p { strong { (texts.say("caution-title")) } }
                ul { @for caution in cautions { li { (say_caution(texts, *caution)) } } }
                p { (texts.say("caution-defers")) }
            }
        }
    }
}

/// The state of a case, told by word and frame.
pub fn draw_state(texts: &Texts, state: State) -> Markup {
    let (class, key) = match state {
        State::Released => ("state released", "state-released"),
        State::Open => ("state open", "state-open"),
        State::Settled => ("state settled", "state-settled"),
    };
    html! { span class=(class) { (texts.say(key)) } }
}

/// The id of a kind's section.
pub fn section_id(kind: NeedKind) -> String {
    format!("need-{}", kind.id())
}

/// The table of kinds with their counts, each a link to its cases.
pub fn draw_summary(sheet: &Sheet<'_>, needs: &[Need]) -> Markup {
    let texts = sheet.texts;
    let count = |n: u64, kind: NeedKind| {
        html! { td class="num" { @if n > 0 { a href={ "#" (section_id(kind)) } { (texts.count(n)) } } @else { "–" } } }
    };
    html! {
        div class="wide" {
            table class="summary" {
                caption { (texts.say("needs-caption")) }
                thead {
                    tr {
                        th scope="col" { (texts.say("needs-seen")) }
                        th scope="col" class="num" { (texts.say("needs-found")) }
                        th scope="col" class="num" { (texts.say("state-released")) }
                        th scope="col" class="num" { (texts.say("state-open")) }
                        th scope="col" class="num" { (texts.say("state-settled")) }
                        th scope="col" class="num" { (texts.say("needs-newest")) }
                    }
                }
                tbody {
                    @for need in needs {
                        tr class=[need.is_open().then_some("live")] {
                            th scope="row" { (say_kind(texts, need.kind)) }
                            (count(need.n_found, need.kind))
                            (count(need.n_released, need.kind))
                            (count(need.n_open, need.kind))
                            (count(need.n_settled, need.kind))
                            td class="num nowrap" { (newest(texts, need)) }
                        }
                    }
                }
            }
        }
    }
}

fn newest(texts: &Texts, need: &Need) -> String {
    let newest = need
        .cases
        .iter()
        .filter(|case| case.state != State::Settled || !need.is_open())
        .filter_map(|case| case.when.as_deref())
        .max();
    newest
        .and_then(|when| when.get(..10))
        .map_or_else(|| "–".to_owned(), |day| texts.stamp(day))
}

/// The cases to begin with.
pub fn draw_first(sheet: &Sheet<'_>, needs: &[Need], most: usize) -> Markup {
    let texts = sheet.texts;
    let cases = find_first(needs);
    let n_more = cases.len().saturating_sub(most);
    // One of each kind comes before a second of any.
    let mut seen = std::collections::BTreeSet::new();
    let (firsts, others): (Vec<_>, Vec<_>) =
        cases.into_iter().partition(|(kind, _)| seen.insert(*kind));
    html! {
        table class="first" {
            caption {
                (texts.say("first-caption"))
                @if n_more > 0 { " " span class="sub" { (texts.with("first-more", &[("n", n_more.into())])) } }
            }
            thead {
                tr {
                    th scope="col" { (texts.say("case-about")) }
                    th scope="col" { (texts.say("case-seen")) }
                    th scope="col" { (texts.say("case-signed")) }
                    th scope="col" { (texts.say("case-where")) }
                }
            }
            tbody {
                @for (kind, case) in firsts.iter().chain(&others).take(most) {
                    tr {
                        th scope="row" { (case.subject().unwrap_or("–")) }
                        td { strong { (say_kind(texts, *kind)) } " – " (say_seen(texts, case)) }
                        td { (draw_state(texts, case.state)) }
                        td { @if let Some(place) = case.places.first() { (sheet.cited.link(place)) } }
                    }
                }
            }
        }
    }
}

/// A section for each kind, with all of its cases.
pub fn draw_needs(sheet: &Sheet<'_>, needs: &[Need]) -> Vec<Section> {
    needs
        .iter()
        .map(|need| {
            Section::new(
                section_id(need.kind),
                format!(
                    "{}: {}",
                    say_kind(sheet.texts, need.kind),
                    sheet.texts.count(need.n_found)
                ),
                draw_need(sheet, need),
            )
        })
        .collect()
}

/// The cases of a kind with what to do next.
pub fn draw_need(sheet: &Sheet<'_>, need: &Need) -> Markup {
    let texts = sheet.texts;
    let mut cautions: Vec<Caution> = need.cases.iter().filter_map(|case| case.caution).collect();
    cautions.sort_unstable();
    cautions.dedup();
    html! {
        p class="next" { strong { (texts.say("need-next")) } " " (say_next(texts, need.kind)) }
        (draw_cautions(texts, &cautions))
        (draw_cases(sheet, &need.cases, &say_kind(texts, need.kind)))
    }
}

/// A table of cases.
pub fn draw_cases(sheet: &Sheet<'_>, cases: &[Case], caption: &str) -> Markup {
    let texts = sheet.texts;
    // Settled cases come last.
    let n_live = cases
        .iter()
        .filter(|case| case.state != State::Settled)
        .count();
    let n_listed = n_live
        .saturating_add(MOST_SETTLED)
        .min(MOST_LISTED.max(MOST_SETTLED));
    let (listed, others) = cases.split_at(cases.len().min(n_listed));
    html! {
        div class="wide" {
            table class="cases" {
                caption { (caption) }
                thead {
                    tr {
                        th scope="col" { (texts.say("case-about")) }
                        th scope="col" { (texts.say("case-when")) }
                        th scope="col" { (texts.say("case-seen")) }
                        th scope="col" { (texts.say("case-signed")) }
                        th scope="col" { (texts.say("case-where")) }
                    }
                }
                tbody {
                    @for case in listed {
                        tr {
                            th scope="row" {
                                (case.subject().unwrap_or("–"))
                                @if let (Some(_), Some(cycle)) = (&case.load, &case.cycle) { br; span class="sub" { (cycle) } }
                            }
                            td { (case.when.as_deref().map_or_else(|| "–".to_owned(), |when| texts.stamp(when))) }
                            td { (say_seen(texts, case)) }
                            td { (draw_state(texts, case.state)) " " (say_signed(texts, &case.signed)) }
                            td { (sheet.cited.links(case.places.iter().take(4))) }
                        }
                    }
                }
            }
        }
        @if !others.is_empty() {
            p class="note" { (texts.with("case-more", &[("n", others.len().into())])) }
            p class="dense" {
                @for case in others {
                    @if let Some(place) = case.places.first() {
                        (sheet.cited.link_said(place, case.subject().unwrap_or("–"))) " "
                    }
                }
            }
        }
    }
}
