//! One style sheet where there were many: packed together they weigh a third less, and they come with one answer.

use std::fs;
use std::path::Path;

/// Joins the style sheets that the folder's `index.html` links to, in the order of the links.
///
/// # Errors
/// A sentence when a file cannot be read or written, or no style sheet is linked.
pub fn join(dist: &Path) -> Result<(), String> {
    let at = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    let page = dist.join("index.html");
    let html = fs::read_to_string(&page).map_err(|error| at(&page, error))?;
    let links = links(&html);
    let mut css = String::new();
    for link in &links {
        let sheet = dist.join(link.file);
        css.push_str(&fs::read_to_string(&sheet).map_err(|error| at(&sheet, error))?);
        css.push('\n');
        fs::remove_file(&sheet).map_err(|error| at(&sheet, error))?;
    }
    let name = format!("style-{}.css", &super::offline::hash(css.as_bytes())[..16]);
    let joined = linked_once(&html, &links, &name).ok_or_else(|| format!("{} has no style sheet", page.display()))?;
    fs::write(dist.join(&name), css).map_err(|error| at(&dist.join(&name), error))?;
    fs::write(&page, joined).map_err(|error| at(&page, error))
}

/// A link to a style sheet: its whole tag and the name of its file.
struct Link<'a> {
    tag: &'a str,
    file: &'a str,
}

fn links(html: &str) -> Vec<Link<'_>> {
    let tags = html.match_indices("<link").filter_map(|(from, _)| {
        let tag = &html[from..];
        Some(&tag[..=tag.find('>')?])
    });
    tags.filter(|tag| tag.contains("rel=stylesheet") || tag.contains("rel=\"stylesheet\""))
        .filter_map(|tag| {
            let value = tag.split_once("href=")?.1.trim_start_matches('"');
            let file = value.split(['"', ' ', '>', '/']).find(|part| part.ends_with(".css"))?;
            Some(Link { tag, file })
        })
        .collect()
}

/// The page with one link in the place of the first, `None` where there is none.
fn linked_once(html: &str, links: &[Link<'_>], name: &str) -> Option<String> {
    let first = links.first()?;
    let once = html.replacen(first.tag, &format!("<link href=\"./{name}\" rel=\"stylesheet\">"), 1);
    Some(links[1..].iter().fold(once, |html, link| html.replacen(link.tag, "", 1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_are_found_in_both_spellings_and_become_one() {
        let html = "<link href=icon.svg rel=icon><link href=./a-1.css rel=stylesheet><link rel=\"stylesheet\" href=\"./b-2.css\" /><p>";
        let links = links(html);
        assert_eq!(links.iter().map(|link| link.file).collect::<Vec<_>>(), ["a-1.css", "b-2.css"]);
        let joined = linked_once(html, &links, "style-0.css").unwrap();
        assert_eq!(joined, "<link href=icon.svg rel=icon><link href=\"./style-0.css\" rel=\"stylesheet\"><p>");
        assert_eq!(linked_once(html, &[], "style-0.css"), None);
    }
}
