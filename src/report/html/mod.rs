//! Reports for paper and screen: one self-contained HTML file each, which asks nothing of the network and runs no script.
//!
//! A report is made from a plain value of [`super`]; the drawing knows no history and computes nothing. Every text comes
//! from [`super::lang`], every link to a line from [`cite::Cited`], every chart from [`chart`]. The finished page goes
//! through [`super::inert::markup`] once, so that nothing from a strip can act in it. Read [`page::Page`] first, then
//! [`review::draw_review`].

pub mod appendix;
pub mod chart;
pub mod cite;
pub mod decision;
pub mod ending;
pub mod findings;
pub mod investigation;
pub mod lengths;
pub mod monthly;
pub mod needs;
pub mod page;
pub mod review;
pub mod saying;
pub mod service;

use super::lang::Texts;
use super::review::Reviewed;
use crate::diagnose::FileId;
use cite::Cited;
use std::collections::BTreeMap;

/// What a report is drawn with.
pub struct Sheet<'a> {
    /// The texts of its language.
    pub texts: &'a Texts,
    /// The places that it links to.
    pub cited: Cited<'a>,
    /// What it was made from: for the appendices alone.
    pub reviewed: &'a Reviewed<'a>,
    /// How it was made.
    pub made: Made,
}

/// How a report was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// The program's version.
    pub version: &'static str,
    /// Whether staff marks were replaced.
    pub masking: Masking,
    /// Whether inference was refused.
    pub strictness: crate::parse::Strictness,
    /// The files that were read by a layout, each with its name.
    pub layouts: BTreeMap<FileId, String>,
}

/// Whether staff marks are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Masking {
    /// As they stand in the records.
    Shown,
    /// Each replaced by the same number throughout.
    Masked,
}

impl<'a> Sheet<'a> {
    /// A sheet upon which nothing is drawn yet.
    pub fn new(texts: &'a Texts, reviewed: &'a Reviewed<'a>, made: Made) -> Self {
        Sheet {
            texts,
            cited: Cited::new(reviewed.files),
            reviewed,
            made,
        }
    }
}
