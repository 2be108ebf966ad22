//! What all pages of HTML have in common: one file that loads nothing and runs nothing, with the lines that stand at the
//! head and the foot of each printed page.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::page::clean;

/// A page with its title and its rules of style.
pub(super) fn page(title: &str, styles: &[&str], body: &Markup) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (clean(title)) }
                style { @for style in styles { (PreEscaped(style)) } }
            }
            body { (body) }
        }
    };
    markup.into_string()
}

/// A warning for the head of a page: the words of it that stand in capitals, else its beginning.
pub(super) fn in_short(warning: &str) -> &str {
    super::summary::capitals(warning).or_else(|| warning.split([':', '.']).next()).unwrap_or_default()
}

/// The running lines of a printed page.
#[derive(Clone, Debug, Default)]
pub(super) struct Running<'a> {
    /// What it belongs to.
    pub left: &'a str,
    pub right: &'a str,
    /// Beside the number of the page.
    pub foot: &'a str,
}

impl Running<'_> {
    pub fn style(&self) -> String {
        let font = "font:7.5pt system-ui,sans-serif;color:#3b424c";
        format!(
            "@page{{margin:16mm 14mm 16mm 16mm;\
             @top-left{{content:{};{font}}}\
             @top-right{{content:{};{font};font-weight:700}}\
             @bottom-left{{content:{};{font}}}\
             @bottom-right{{content:\"page \" counter(page) \" of \" counter(pages);{font}}}}}",
            css_string(self.left),
            css_string(self.right),
            css_string(self.foot),
        )
    }
}

/// A text as a string of CSS: all but plain letters, digits and blanks by their numbers, so that nothing ends it.
fn css_string(text: &str) -> String {
    let mut written = String::from("\"");
    for letter in clean(text).chars() {
        match letter {
            'a'..='z' | 'A'..='Z' | '0'..='9' | ' ' | ',' | '.' | '-' | '_' => written.push(letter),
            other => written.push_str(&format!("\\{:x} ", u32::from(other))),
        }
    }
    written.push('"');
    written
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_head_of_a_page_says_what_is_wrong_and_not_the_name_of_a_file() {
        assert_eq!(in_short("walk.record.jsonl: REHEARSAL: nothing was measured."), "REHEARSAL");
        assert_eq!(in_short("NOT SIGNED: anybody could have written this."), "NOT SIGNED");
        assert_eq!(in_short("worked examples of x.bedway do not come out"), "worked examples of x");
    }

    #[test]
    fn no_title_ends_the_rules_of_the_page() {
        assert_eq!(css_string("a\"}<"), "\"a\\22 \\7d \\3c \"");
        assert!(!css_string("a\n\u{202e}b").contains(['\n', '\u{202e}']));
    }
}
