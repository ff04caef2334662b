//! The page around a report: its head, its headings and landmarks, and the rules that keep it quiet.
//!
//! The page carries its own style and nothing else. Its Content-Security-Policy allows that one style by its hash and
//! pictures within the page, and forbids the rest: no script, no request, no form. Page numbers and title stand on each
//! printed page through margin boxes (CSS Paged Media); paper size is left to whoever prints, A4 or Letter.
//! Read [`Page`] first.

use super::{Masking, Sheet};
use crate::report::inert;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

/// A section with a heading.
#[derive(Debug, Clone)]
pub struct Section {
    /// Its id in the page.
    pub id: String,
    /// Its heading.
    pub title: String,
    /// What stands in it.
    pub body: Markup,
}

impl Section {
    /// A section.
    pub fn new(id: impl Into<String>, title: impl Into<String>, body: Markup) -> Self {
        Section {
            id: id.into(),
            title: title.into(),
            body,
        }
    }
}

/// A report's page.
#[derive(Debug, Clone)]
pub struct Page {
    /// What report it is.
    pub title: String,
    /// Of what: sites, unit, period.
    pub of: String,
    /// Lines below the title: when, from what.
    pub facts: Vec<Markup>,
    /// The first printed page, below the title.
    pub front: Markup,
    /// The sections that follow.
    pub sections: Vec<Section>,
    /// The appendices.
    pub appendices: Vec<Section>,
}

impl Page {
    /// The whole document.
    pub fn draw(&self, sheet: &Sheet<'_>) -> String {
        let texts = sheet.texts;
        let running = match self.of.is_empty() {
            true => self.title.clone(),
            false => format!("{} · {}", self.title, self.of),
        };
        let style = format!(
            "{}@page{{@top-left{{content:{}}}@top-right{{content:{}}}@bottom-left{{content:{}}}\
             @bottom-right{{content:{} counter(page) {} counter(pages)}}}}\n",
            include_str!("style.css"),
            css_string(&cut(&inert::text(&running), 90)),
            css_string(&texts.say("page-kept")),
            css_string(&texts.with("page-made", &[("version", sheet.made.version.into())])),
            css_string(&format!("{} ", texts.say("page-number"))),
            css_string(&format!(" {} ", texts.say("page-of"))),
        );
        let policy = format!(
            "default-src 'none'; style-src 'sha256-{}'; img-src data:; base-uri 'none'; form-action 'none'",
            base64(&Sha256::digest(style.as_bytes()))
        );
        let drawn = html! {
            (DOCTYPE)
            html lang=(texts.language().tag()) {
                head {
                    meta charset="utf-8";
                    meta http-equiv="Content-Security-Policy" content=(policy);
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="referrer" content="no-referrer";
                    meta name="color-scheme" content="light dark";
                    title { (running) }
                    link rel="icon" href="data:,";
                    style { (PreEscaped(&style)) }
                }
                body {
                    a class="skip" href="#main" { (texts.say("page-skip")) }
                    header {
                        p class="kind" { (texts.say("page-brand")) }
                        h1 { (self.title) @if !self.of.is_empty() { span class="of" { (self.of) } } }
                        ul class="facts" {
                            @for fact in &self.facts { li { (fact) } }
                            @if sheet.made.masking == Masking::Masked { li { (texts.say("page-masked")) } }
                        }
                    }
                    main id="main" {
                        div class="front" { (self.front) }
                        nav aria-label=(texts.say("page-contents")) {
                            h2 { (texts.say("page-contents")) }
                            ol {
                                @for section in self.sections.iter().chain(&self.appendices) {
                                    li { a href={ "#" (section.id) } { (section.title) } }
                                }
                            }
                        }
                        @for section in &self.sections { (draw_section(section, "part")) }
                        @for section in &self.appendices { (draw_section(section, "part appendix")) }
                    }
                    footer {
                        p { (texts.say("page-foot")) }
                        p { (texts.with("page-made", &[("version", sheet.made.version.into())])) }
                    }
                }
            }
        };
        // The style is plain ASCII and has no character that is not inert, so that its hash stays that of its bytes.
        let mut document = inert::markup(&drawn.into_string());
        document.push('\n');
        document
    }
}

fn draw_section(section: &Section, class: &str) -> Markup {
    let heading = format!("{}-h", section.id);
    html! {
        section id=(section.id) class=(class) aria-labelledby=(heading) {
            h2 id=(heading) { (section.title) }
            (section.body)
        }
    }
}

/// So many characters at most, with a mark where some were left out.
fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars()
        .take(most.saturating_sub(1))
        .chain(['…'])
        .collect()
}

/// A text as a CSS string: whatever is no letter, digit or space is written by its number and a space that belongs to it
/// (CSS Syntax Level 3, 4.3.7), so that no text can end the string or the style.
fn css_string(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        if c.is_ascii_alphanumeric() || c == ' ' {
            out.push(c);
        } else {
            out.push_str(&format!("\\{:X} ", u32::from(c)));
        }
    }
    out.push('"');
    out
}

/// Bytes in base64 (RFC 4648, section 4).
fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for chunk in bytes.chunks(3) {
        let byte = |n: usize| u32::from(chunk.get(n).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for (n, shift) in [18, 12, 6, 0].into_iter().enumerate() {
            if n > chunk.len() {
                out.push('=');
                continue;
            }
            let digit = (bits >> shift) & 63;
            // Six bits are below 64.
            out.push(char::from(
                DIGITS.get(digit as usize).copied().unwrap_or(b'='),
            ));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_rfc_4648() {
        for (plain, encoded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), encoded);
        }
    }

    /// CSS Syntax Level 3, 4.3.7: a backslash, hexadecimal digits and one white space are one character.
    #[test]
    fn text_can_not_end_a_css_string_or_the_style() {
        let written = css_string("a\"}</style>\\\n");
        assert_eq!(written, "\"a\\22 \\7D \\3C \\2F style\\3E \\5C \\A \"");
    }
}
