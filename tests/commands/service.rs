use super::{json, run, widest};

const SAMPLES: &str = "../../samples/fennmarsh";

#[test]
fn service_ranks_the_units_of_the_samples() {
    // samples/answer-sheet.md: troubles 1 (PL-2's pump-down) and 2 (ST-2's leak rate) are the ones that lie in a unit and
    // have not come to their end.
    let service = json(&["service", SAMPLES]);
    let units: Vec<&str> = service["units"]
        .as_array()
        .unwrap()
        .iter()
        .map(|unit| unit["unit"].as_str().unwrap())
        .collect();
    assert_eq!(units.len(), 6);
    assert!(
        units[..2].contains(&"PL-2") && units[..2].contains(&"ST-2"),
        "{units:?}"
    );
}

#[test]
fn service_is_drawn_in_its_width_and_states_its_method() {
    for width in ["60", "80", "120"] {
        let drawn = run(&["service", SAMPLES, "--width", width]);
        assert_eq!(drawn.code, 1, "{}", drawn.err);
        assert!(
            widest(&drawn.out) <= width.parse().unwrap(),
            "{}",
            drawn.out
        );
        let words = drawn.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("harmonic mean p (Wilson, PNAS 116, 2019)"));
        assert!(words.contains("the device's service instructions decide"));
    }
}

#[test]
fn a_unit_alone_is_still_held_against_its_sisters() {
    let one = json(&["service", SAMPLES, "--unit", "PL-3"]);
    let all = json(&["service", SAMPLES]);
    let of_all = all["units"]
        .as_array()
        .unwrap()
        .iter()
        .find(|unit| unit["unit"] == "PL-3")
        .unwrap();
    assert_eq!(one["units"][0]["p"], of_all["p"]);
    assert_eq!(one["units"].as_array().unwrap().len(), 1);
}
