//! Every example of grammars/layout.md compiles, and every strip in it is read by the layout beside it.

use super::compiled;
use loadbook::parse::layout::field::Field;
use loadbook::parse::layout::trial::{Strip, try_layout};

/// The fenced blocks of the page: what each is, and its text.
fn blocks() -> Vec<(&'static str, String)> {
    let page = include_str!("../../grammars/layout.md");
    let mut blocks = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if let Some(kind) = line.strip_prefix("```") {
            let text: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            blocks.push((kind, text.join("\n") + "\n"));
        }
    }
    blocks
}

#[test]
fn every_example_compiles_and_reads_the_strip_beside_it() {
    let blocks = blocks();
    let mut n_strips = 0;
    for (at, (kind, text)) in blocks.iter().enumerate() {
        match *kind {
            "layout" => {
                compiled("the page", text);
            }
            "strip" => {
                n_strips += 1;
                let neighbours = [
                    at.checked_sub(1).and_then(|at| blocks.get(at)),
                    blocks.get(at + 1),
                ];
                let beside = neighbours
                    .into_iter()
                    .flatten()
                    .find(|(kind, _)| *kind == "layout");
                let (_, layout) = beside.unwrap();
                let strips = [Strip {
                    name: "the page".to_owned(),
                    bytes: text.clone().into_bytes(),
                }];
                let trial = try_layout(&compiled("the page", layout), &strips);
                let unread: Vec<_> = trial
                    .accounts
                    .iter()
                    .filter_map(|a| a.diagnostic.as_ref())
                    .collect();
                assert!(
                    unread.is_empty() && !trial.cycles.is_empty(),
                    "{text}\n{unread:#?}"
                );
                assert!(trial.said.is_empty(), "{text}\n{:#?}", trial.said);
            }
            other => panic!("a block of kind `{other}`"),
        }
    }
    assert!(n_strips >= 3);
}

#[test]
fn every_placeholder_stands_on_the_page() {
    let page = include_str!("../../grammars/layout.md");
    for name in Field::names() {
        // The parts of consumables are said once for all kinds.
        let is_other_kind = ["ci ", "bi ", "packaging ", "other "]
            .iter()
            .any(|kind| name.starts_with(kind));
        let is_named =
            page.contains(&format!("{{{name}}}")) || page.contains(&format!("{{{name} "));
        assert!(
            is_named || is_other_kind || name == "any outcome stage",
            "{name}"
        );
    }
}
