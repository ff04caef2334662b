//! Every input of fuzz/corpus through the property of its target, on the compiler that everything else is built with. What
//! fuzzing found stands there too, under a name that begins with `found-`.

#[path = "../fuzz/properties.rs"]
mod properties;

use properties::TARGETS;
use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn every_input_of_the_corpora_keeps_its_property() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus");
    for (target, property) in TARGETS {
        let mut paths: Vec<_> = std::fs::read_dir(root.join(target))
            .unwrap()
            .map(|file| file.unwrap().path())
            .collect();
        paths.sort();
        assert!(paths.len() >= 3, "{target} has a corpus");
        for path in paths {
            let bytes = std::fs::read(&path).unwrap();
            // The test's own output names the input at which it stops.
            println!("{}", path.display());
            property(&bytes);
        }
    }
}

#[test]
fn every_target_has_a_corpus_a_dictionary_and_a_property() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz");
    let names = |folder: &str, extension: &str| -> BTreeSet<String> {
        let files = std::fs::read_dir(root.join(folder)).unwrap();
        files
            .map(|file| file.unwrap().file_name().into_string().unwrap())
            .map(|name| name.trim_end_matches(extension).to_owned())
            .collect()
    };
    let targets: BTreeSet<String> = TARGETS.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(names("fuzz_targets", ".rs"), targets);
    assert_eq!(names("dictionaries", ".dict"), targets);
    assert_eq!(names("corpus", ""), targets);
}
