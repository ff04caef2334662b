//! Which folders are sites. Read [`find_sites`].

use super::super::Refusal;
use crate::archive::store::MANIFEST;
use crate::measure::count::Counting;
use crate::report::sites::{LeftOut, SiteKind, SitePlace};
use crate::source::site_file::say_cause;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

const NO_FOLDER: &str = "a site needs a folder of its own, and links are not followed";

/// What lies directly in the paths.
#[derive(Debug, Default)]
pub struct FoundSites {
    /// The sites, in the order of their names.
    pub sites: Vec<SitePlace>,
    /// What lies beside them and is none.
    pub left_out: Vec<LeftOut>,
    /// Paths that could not be looked into.
    pub problems: Vec<String>,
}

/// Finds the sites: each folder that lies directly in one of the paths, hidden ones left out as in every folder of records.
/// Links are not followed, so that what is read lies in the folder that was named.
///
/// # Errors
/// A path that is an archive itself: its inner folders are no sites.
pub fn find_sites(paths: &[String]) -> Result<FoundSites, Refusal> {
    let mut found = FoundSites::default();
    let mut seen = BTreeSet::new();
    for path in paths {
        let folder = Path::new(path);
        if folder.join(MANIFEST).is_file() {
            let mut refusal = Refusal::new(format!("`{path}` is an archive itself"));
            let advice = "name the folder that it lies in, or review it alone with --archive";
            refusal.more.push(advice.to_owned());
            return Err(refusal);
        }
        if folder.is_file() {
            found.left_out.push(LeftOut {
                path: path.clone(),
                why: NO_FOLDER,
            });
            continue;
        }
        if let Err(error) = look_into(folder, &mut found, &mut seen) {
            let said = say_cause(&error);
            found
                .problems
                .push(format!("`{path}` can't be read: {said}"));
        }
    }
    found.left_out.sort();
    tell_apart(&mut found.sites);
    found
        .sites
        .sort_by(|a, b| (&a.name, &a.path).cmp(&(&b.name, &b.path)));
    Ok(found)
}

fn look_into(
    folder: &Path,
    found: &mut FoundSites,
    seen: &mut BTreeSet<std::path::PathBuf>,
) -> std::io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        if name.as_encoded_bytes().starts_with(b".") {
            continue;
        }
        let path = entry.path();
        if !entry.file_type()?.is_dir() {
            found.left_out.push(LeftOut {
                path: path.to_string_lossy().into_owned(),
                why: NO_FOLDER,
            });
            continue;
        }
        let identity = path.canonicalize().unwrap_or_else(|_| path.clone());
        if !seen.insert(identity) {
            continue;
        }
        let Some(text) = path.to_str() else {
            let shown = path.to_string_lossy();
            found.problems.push(format!(
                "`{shown}` can't be read: its name is not UTF-8; rename the folder"
            ));
            continue;
        };
        found.sites.push(SitePlace {
            name: name.to_string_lossy().into_owned(),
            path: text.to_owned(),
            kind: if path.join(MANIFEST).is_file() {
                SiteKind::Archive
            } else {
                SiteKind::Folder
            },
        });
    }
    Ok(())
}

/// Gives sites whose folders have the same name their paths as names.
fn tell_apart(sites: &mut [SitePlace]) {
    let mut n_of: BTreeMap<String, usize> = BTreeMap::new();
    for site in sites.iter() {
        n_of.entry(site.name.clone()).or_default().add_one();
    }
    for site in sites {
        if n_of.get(&site.name).is_some_and(|n| *n > 1) {
            site.name = site.path.clone();
        }
    }
}
