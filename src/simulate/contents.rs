//! What goes into a load: sets with their items and packaging. The names are generic and recur.

use super::calendar::Site;
use super::chance::Chance;
use super::lots::Supply;
use crate::record::cycle::Process;

/// How a set is packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Packaging {
    /// In pouches.
    Pouch,
    /// In wraps.
    Wrap,
    /// In a rigid container, which has no lot.
    Container,
}

impl Packaging {
    /// The word in the log.
    pub fn word(self) -> &'static str {
        match self {
            Packaging::Pouch => "pouch",
            Packaging::Wrap => "wrap",
            Packaging::Container => "container",
        }
    }

    /// What comes in lots.
    pub fn supply(self) -> Option<Supply> {
        match self {
            Packaging::Pouch => Some(Supply::Pouch),
            Packaging::Wrap => Some(Supply::Wrap),
            Packaging::Container => None,
        }
    }
}

/// What a set is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SetClass {
    /// Instruments.
    Plain,
    /// Endoscopes of the ear, nose and throat department, which have narrow channels.
    EntScope,
    /// It holds an implant.
    Implant,
}

/// A family of like sets.
#[derive(Debug, PartialEq, Eq)]
pub struct SetFamily {
    /// Its name.
    pub name: &'static str,
    /// How many there are.
    pub n_sets: i32,
    /// Items in each.
    pub n_items: i32,
    /// Packages that each is in.
    pub n_packages: i32,
    /// Its packaging.
    pub packaging: Packaging,
    /// What it is of.
    pub class: SetClass,
}

const fn family(
    name: &'static str,
    n_sets: i32,
    n_items: i32,
    n_packages: i32,
    packaging: Packaging,
    class: SetClass,
) -> SetFamily {
    SetFamily {
        name,
        n_sets,
        n_items,
        n_packages,
        packaging,
        class,
    }
}

static PLASMA: [SetFamily; 9] = [
    family("ENT scope", 6, 3, 2, Packaging::Pouch, SetClass::EntScope),
    family(
        "Arthroscope",
        4,
        9,
        1,
        Packaging::Container,
        SetClass::Plain,
    ),
    family("Camera head", 5, 2, 1, Packaging::Pouch, SetClass::Plain),
    family(
        "Laparoscope",
        6,
        4,
        1,
        Packaging::Container,
        SetClass::Plain,
    ),
    family("Light lead", 8, 1, 1, Packaging::Pouch, SetClass::Plain),
    family("Cystoscope", 4, 6, 2, Packaging::Wrap, SetClass::Plain),
    family("Battery drill", 3, 11, 2, Packaging::Wrap, SetClass::Plain),
    family(
        "Micro eye tray",
        5,
        18,
        1,
        Packaging::Container,
        SetClass::Plain,
    ),
    family(
        "Ear implant set",
        2,
        7,
        2,
        Packaging::Pouch,
        SetClass::Implant,
    ),
];

static STEAM: [SetFamily; 9] = [
    family(
        "Major basic",
        6,
        64,
        1,
        Packaging::Container,
        SetClass::Plain,
    ),
    family("Minor basic", 9, 31, 1, Packaging::Wrap, SetClass::Plain),
    family("Suture set", 12, 6, 1, Packaging::Pouch, SetClass::Plain),
    family("Bowl set", 8, 4, 1, Packaging::Wrap, SetClass::Plain),
    family("Hip tray", 4, 48, 1, Packaging::Container, SetClass::Plain),
    family("Retractor set", 5, 14, 1, Packaging::Wrap, SetClass::Plain),
    family(
        "Hand surgery",
        4,
        27,
        1,
        Packaging::Container,
        SetClass::Plain,
    ),
    family("Theatre linen", 10, 3, 1, Packaging::Wrap, SetClass::Plain),
    family(
        "Small plates",
        3,
        58,
        1,
        Packaging::Container,
        SetClass::Implant,
    ),
];

static EO: [SetFamily; 4] = [
    family("Catheter set", 6, 12, 4, Packaging::Pouch, SetClass::Plain),
    family("Soft lead tray", 4, 9, 2, Packaging::Wrap, SetClass::Plain),
    family(
        "Flexible tube kit",
        5,
        8,
        3,
        Packaging::Pouch,
        SetClass::Plain,
    ),
    family(
        "Lens implant kit",
        2,
        6,
        3,
        Packaging::Pouch,
        SetClass::Implant,
    ),
];

/// One set of a family.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PickedSet {
    /// The family.
    pub family: &'static SetFamily,
    /// Which of the family, counted from 1.
    pub number: i32,
}

impl PickedSet {
    /// Its name in the log.
    pub fn name(&self) -> String {
        format!("{} {}", self.family.name, self.number)
    }
}

/// Whether a load may hold, or must hold, an implant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Implants {
    /// As it comes.
    AsItComes,
    /// None.
    None,
    /// One.
    Wanted,
}

/// Some sets for a load of a process, each once.
pub fn pick_sets(process: Process, implants: Implants, chance: &mut Chance) -> Vec<PickedSet> {
    let families: &'static [SetFamily] = match process {
        Process::Plasma => &PLASMA,
        Process::Steam => &STEAM,
        Process::Eo => &EO,
    };
    let mut picked: Vec<PickedSet> = Vec::new();
    let n_sets = chance.whole(1, 3);
    if implants == Implants::Wanted
        && let Some(family) = families.iter().find(|f| f.class == SetClass::Implant)
    {
        picked.push(PickedSet { family, number: 1 });
    }
    for _ in 0..n_sets {
        let Some(family) = chance.pick(families) else {
            break;
        };
        let number = chance.whole(1, family.n_sets);
        // Implants are rarer than their share of the shelf, and endoscopes for ear, nose and throat commoner.
        let implant = family.class == SetClass::Implant;
        if implant && (implants == Implants::None || chance.happens(0.6)) {
            continue;
        }
        let family = if process == Process::Plasma && chance.happens(0.12) {
            families.first().unwrap_or(family)
        } else {
            family
        };
        let number = number.min(family.n_sets);
        if picked.iter().all(|set| set.family != family) {
            picked.push(PickedSet { family, number });
        }
    }
    if picked.is_empty()
        && let Some(family) = families.get(1)
    {
        picked.push(PickedSet {
            family,
            number: chance.whole(1, family.n_sets),
        });
    }
    picked
}

/// Where a set goes.
pub fn pick_destination(site: Site, chance: &mut Chance) -> &'static str {
    let places: &[&str] = match site {
        Site::Annexe => &["day theatre 1", "day theatre 2", "clinic store"],
        Site::General => &[
            "theatre 1",
            "theatre 2",
            "theatre 3",
            "theatre 4",
            "central store",
        ],
    };
    chance.pick(places).copied().unwrap_or("theatre 1")
}
