//! A page of HTML as a careful reader without a mouse, without eyes for colour or without a network would look it over; and
//! that each fault is found, by putting it in on purpose.

use std::collections::HashSet;

use scraper::{ElementRef, Html, Selector};

use crate::commands::Folder;
use crate::html::{all, everything, text};

/// What is wrong with a page, in words; nothing if it is well.
pub fn faults(page: &str) -> Vec<String> {
    let html = Html::parse_document(page);
    let mut found: Vec<String> = html.errors.iter().map(|error| format!("not valid: {error}")).collect();
    landmarks(&html, &mut found);
    names(&html, &mut found);
    alternatives(&html, &mut found);
    tables(&html, &mut found);
    alone(page, &html, &mut found);
    colours(&html, &mut found);
    found
}

fn landmarks(html: &Html, found: &mut Vec<String>) {
    if !page_is_whole(html) {
        found.push("not whole: doctype, language, character set, width of the screen".to_owned());
    }
    for landmark in ["body > header", "body > main", "body > footer", "h1", "head > title"] {
        let count = all(html, landmark).len();
        if count != 1 {
            found.push(format!("landmark: {landmark} stands {count} times"));
        }
    }
    for nav in all(html, "nav") {
        if nav.attr("aria-label").is_none_or(str::is_empty) {
            found.push("landmark: a nav without a name".to_owned());
        }
    }
    // No level of heading is passed over, and none is empty.
    let heads = all(html, "h1, h2, h3, h4, h5, h6");
    let level = |head: &ElementRef<'_>| head.value().name().as_bytes()[1] - b'0';
    for pair in heads.windows(2).filter(|pair| level(&pair[1]) > level(&pair[0]) + 1) {
        found.push(format!("heading: {} under {}", text(pair[1]), text(pair[0])));
    }
    let empty = heads.iter().filter(|head| text(**head).is_empty());
    found.extend(empty.map(|head| format!("heading: {} is empty", head.html())));
    if heads.first().is_some_and(|head| level(head) != 1) {
        found.push("heading: the first is not the title".to_owned());
    }
}

fn page_is_whole(html: &Html) -> bool {
    let doctype = html.tree.root().children().any(|node| node.value().is_doctype());
    let wanted = ["html[lang]", "meta[charset=utf-8]", "meta[name=viewport]"];
    doctype && wanted.iter().all(|it| all(html, it).len() == 1)
}

/// Every name that is pointed at is there, and once.
fn names(html: &Html, found: &mut Vec<String>) {
    let mut ids = HashSet::new();
    for element in all(html, "[id]") {
        let id = element.attr("id").unwrap();
        if !ids.insert(id) {
            found.push(format!("id: {id} stands twice"));
        }
    }
    for element in all(html, "[aria-labelledby], [aria-describedby], a[href], label[for]") {
        let pointing = ["aria-labelledby", "aria-describedby", "href", "for"];
        let pointed = pointing.iter().filter_map(|name| element.attr(name)).flat_map(str::split_whitespace);
        for id in pointed.map(|it| it.trim_start_matches('#')) {
            if !ids.contains(id) {
                found.push(format!("id: {id} is pointed at and is nowhere"));
            }
        }
    }
}

/// What is seen is said too.
fn alternatives(html: &Html, found: &mut Vec<String>) {
    for image in all(html, "img") {
        if image.attr("alt").is_none_or(|it| it.trim().is_empty()) {
            found.push(format!("picture without text: {}", image.html()));
        }
    }
    for drawing in all(html, "svg:not([aria-hidden=true])") {
        let named = drawing.attr("role") == Some("img")
            && ["aria-labelledby", "aria-label"]
                .iter()
                .any(|it| drawing.attr(it).is_some_and(|it| !it.is_empty()));
        if !named {
            found.push("picture without text: a drawing".to_owned());
        }
    }
    for figure in all(html, "figure") {
        let caption =
            figure.select(&Selector::parse("figcaption").unwrap()).next().map(text).unwrap_or_default();
        if caption.len() < 40 || !caption.contains(|it: char| it.is_ascii_digit()) {
            found.push(format!("figure: says too little: {caption}"));
        }
    }
    for element in all(html, "section, [role=region]") {
        let own = element.value();
        let named =
            ["aria-labelledby", "aria-label"].iter().any(|it| own.attr(it).is_some_and(|it| !it.is_empty()));
        if own.attr("role") == Some("region") && !named {
            found.push("a region without a name".to_owned());
        }
    }
}

fn tables(html: &Html, found: &mut Vec<String>) {
    for head in all(html, "th") {
        if head.attr("scope").is_none() || text(head).is_empty() {
            found.push(format!("table: a head without scope or words: {}", head.html()));
        }
    }
    let heads = Selector::parse("th").unwrap();
    for table in all(html, "table") {
        if table.select(&heads).next().is_none() {
            found.push(format!("table: no heads: {}", table.html()));
        }
        let wide = |row: &ElementRef<'_>| -> usize {
            let cells = row.children().filter_map(ElementRef::wrap);
            cells.map(|cell| cell.attr("colspan").and_then(|it| it.parse().ok()).unwrap_or(1)).sum()
        };
        let rows: Vec<usize> = table.select(&Selector::parse("tr").unwrap()).map(|row| wide(&row)).collect();
        let widest = all_in(table, "thead tr").first().map_or(usize::MAX, wide);
        if rows.iter().any(|row| *row > widest) {
            found.push(format!("table: a row is wider than its heads: {}", text(table)));
        }
    }
}

fn all_in<'h>(element: ElementRef<'h>, selector: &str) -> Vec<ElementRef<'h>> {
    element.select(&Selector::parse(selector).unwrap()).collect()
}

/// The page loads nothing and runs nothing.
fn alone(page: &str, html: &Html, found: &mut Vec<String>) {
    for forbidden in
        ["script", "link", "iframe", "object", "embed", "base", "form", "audio", "video", "meta[http-equiv]"]
    {
        if !all(html, forbidden).is_empty() {
            found.push(format!("not alone: {forbidden}"));
        }
    }
    for element in html.tree.nodes().filter_map(ElementRef::wrap) {
        for (name, value) in element.value().attrs() {
            let away = ["src", "srcset", "href", "xlink:href", "poster", "action", "data"].contains(&name)
                && !value.starts_with('#');
            if away || name.starts_with("on") || name == "style" {
                found.push(format!("not alone: {name}=\"{value}\""));
            }
        }
    }
    let style: String = all(html, "style").into_iter().map(text).collect();
    let urls = style.match_indices("url(").filter(|(at, _)| !style[at + 4..].starts_with('#')).count();
    if urls > 0 || style.contains("@import") || page.contains("javascript:") {
        found.push("not alone: a rule of style loads something".to_owned());
    }
}

/// WCAG 2.2, relative luminance.
fn luminance([red, green, blue]: [u8; 3]) -> f64 {
    let channel = |value: u8| {
        let value = f64::from(value) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(red) + 0.7152 * channel(green) + 0.0722 * channel(blue)
}

fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// `#abc`, `#aabbcc`, `rgb(1,2,3)`.
fn colour(text: &str) -> Option<[u8; 3]> {
    let text = text.trim();
    if let Some(parts) = text.strip_prefix("rgb(").and_then(|it| it.strip_suffix(')')) {
        let parts: Option<Vec<u8>> = parts.split(',').map(|it| it.trim().parse().ok()).collect();
        return parts?.try_into().ok();
    }
    let hex = text.strip_prefix('#')?;
    let hex: String =
        if hex.len() == 3 { hex.chars().flat_map(|it| [it, it]).collect() } else { hex.to_owned() };
    let channel = |at: usize| u8::from_str_radix(hex.get(at..at + 2)?, 16).ok();
    (hex.len() == 6).then_some(())?;
    Some([channel(0)?, channel(2)?, channel(4)?])
}

/// WCAG 2.2, 1.4.3: at least 4.5 to 1 for text. A rule that sets a ground sets its letters too; other letters stand on
/// white, those of a drawing on the darkest tint that one has.
fn colours(html: &Html, found: &mut Vec<String>) {
    let style: String = all(html, "style").into_iter().map(text).collect();
    let white = [255; 3];
    let fills = all(html, "svg rect[fill], svg path[fill]");
    let tints = fills.iter().filter_map(|it| colour(it.attr("fill")?));
    let darkest =
        tints.chain([[0xa7, 0xaf, 0xb5]]).min_by(|a, b| luminance(*a).total_cmp(&luminance(*b))).unwrap();
    let mut looked_at = 0;
    for rule in style.split('{').skip(1).map(|it| it.split('}').next().unwrap()) {
        let value = |name: &str| {
            let found = rule.split(';').find_map(|it| it.trim().strip_prefix(name)?.strip_prefix(':'));
            found
                .map(str::trim)
                .filter(|it| !["none", "inherit", "transparent"].contains(it) && !it.starts_with("url("))
        };
        let drawn = value("fill").filter(|_| rule.contains("font:"));
        let ground = value("background");
        for (letters, ground) in [(value("color"), ground), (drawn, None)] {
            let behind = if drawn.is_some() { Some(darkest) } else { ground.map_or(Some(white), colour) };
            let Some(letters) = letters else { continue };
            looked_at += 1;
            match (colour(letters), behind) {
                (Some(own), Some(behind)) if contrast(own, behind) >= 4.5 => {}
                (Some(own), Some(behind)) => {
                    found
                        .push(format!("contrast: {letters} has {:.1} to 1 in {rule}", contrast(own, behind)));
                }
                _ => found.push(format!("contrast: cannot be told in {rule}")),
            }
        }
        if ground.is_some() && value("color").is_none() {
            found.push(format!("contrast: letters without a colour of their own in {rule}"));
        }
    }
    if looked_at < 2 {
        found.push("contrast: no colours".to_owned());
    }
    for element in all(html, "svg text[fill], font, [bgcolor], [color]") {
        found.push(format!("contrast: a colour outside the rules: {}", element.html()));
    }
}

#[test]
fn pages_of_two_walks_have_no_fault_either() {
    let folder = Folder::new();
    let record = folder.walked();
    for arguments in [vec!["judge", record, "--under", "drill.bedway"], vec!["compare", record, record]] {
        let (status, said) = folder.run(&[arguments.as_slice(), &["--html", "out.html"]].concat());
        assert_eq!(status, 0, "{said}");
        let page = std::fs::read_to_string(folder.path("out.html")).unwrap();
        assert_eq!(faults(&page), Vec::<String>::new(), "{arguments:?}");
    }
}

#[test]
fn contrast_is_reckoned_as_the_guideline_does() {
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    // The lightest grey that passes on white, as is commonly quoted.
    assert!(contrast([0x76; 3], [255; 3]) >= 4.5 && contrast([0x77; 3], [255; 3]) < 4.5);
}

/// One fault each, put into a page that has none.
#[test]
fn each_fault_that_is_put_in_on_purpose_is_found() {
    let (page, _) = everything();
    assert_eq!(faults(page), Vec::<String>::new());
    let put_in: [(&str, &str, &str); 36] = [
        ("not valid", "</figcaption>", ""),
        ("not valid", "</main>", ""),
        ("not valid", "</section>", "</section></div>"),
        ("not valid", "<h1 dir=\"auto\">", "<h1 dir=\"auto\" dir=\"ltr\">"),
        ("not valid", "<main>", "<main><li"),
        ("not valid", "&amp;", "&#0;"),
        ("not whole", "<!DOCTYPE html>", ""),
        ("not whole", " lang=\"en\"", ""),
        ("not whole", "<meta charset=\"utf-8\">", ""),
        ("landmark", "<main>", "<div>"),
        ("landmark", "<nav aria-label=\"Contents\">", "<nav>"),
        ("landmark", "<footer>", "<p>"),
        ("heading", "<h2 id=\"verdict\">", "<h4 id=\"verdict\">"),
        ("heading", "<h2 id=\"verdict\">Verdict", "<h2 id=\"verdict\">"),
        ("heading", "<h3", "<h5"),
        ("id", "<h2 id=\"machine\">", "<h2 id=\"verdict\">"),
        ("id", "href=\"#verdict\"", "href=\"#gone\""),
        ("id", "aria-labelledby=\"verdict\"", "aria-labelledby=\"gone\""),
        ("picture without text", "<main>", "<main><img>"),
        ("picture without text", " role=\"img\"", ""),
        ("figure", "<figcaption>", "<figcaption hidden></figcaption><figcaption>"),
        ("a region without a name", " role=\"region\" aria-label=", " role=\"region\" title="),
        ("table", "<th scope=\"col\">", "<th>"),
        ("table", "<th scope=\"col\">What is judged", "<th scope=\"col\">"),
        (
            "table",
            "<tbody><tr>",
            "<tbody><tr><td></td><td></td><td></td><td></td><td></td><td></td><td></td>",
        ),
        ("not alone: script", "<main>", "<main><script>1</script>"),
        ("not alone: link", "</head>", "<link rel=\"stylesheet\"></head>"),
        ("not alone: src", "<main>", "<main><img alt=\"x\" src=\"https://example.invalid/x.png\">"),
        ("not alone: onclick", "<main>", "<main onclick=\"x()\">"),
        ("not alone: href", "href=\"#verdict\"", "href=\"//example.invalid\""),
        ("not alone: a rule", "<style>", "<style>@import \"x.css\";"),
        ("not alone: a rule", "<style>", "<style>p{background:url(x.png);color:#000}"),
        ("contrast", ".about{color:#3b424c", ".about{color:#9a9a9a"),
        ("contrast", ".about{color:#3b424c", ".about{color:lightgrey"),
        (
            "contrast",
            ".plot-small{font:11px system-ui,sans-serif;fill:#3b424c",
            ".plot-small{font:11px system-ui,sans-serif;fill:#777777",
        ),
        ("contrast", "fill=\"rgb(", "fill=\"rgb(60,60,60)\" data-was=\"rgb("),
    ];
    let missed: Vec<String> = put_in
        .iter()
        .filter_map(|(fault, from, to)| {
            assert!(page.contains(from), "{from} is not on the page any more");
            let spoilt = page.replacen(from, to, 1);
            let found = faults(&spoilt);
            let is_found = found.iter().any(|it| it.starts_with(fault));
            (!is_found).then(|| format!("{fault}: {from} -> {to}: {found:?}"))
        })
        .collect();
    assert!(missed.is_empty(), "{missed:#?}");
}
