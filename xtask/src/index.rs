//! What `index.html` names: it links to files by where they lie in the project, and the built page by their names there.
//!
//! Style sheets become one: packed together they weigh a third less, and they come with one answer. The scripts beside the
//! one that the page starts with come along, for that one asks for them. Every other file keeps its name.

use std::path::Path;

use crate::page::{Files, hash, read, read_bytes};
use crate::{root, slim};

/// Takes what a source page names into the built page, and the page itself, which then names files of that folder;
/// `programs` is what the start's address says.
///
/// # Errors
/// A sentence when a named file cannot be read, two of them have one name, or the page has no style sheet or no start.
pub fn gather(html: &str, programs: &str, page: &mut Files) -> Result<(), String> {
    let html = slim::html(html);
    let mut css = String::new();
    let mut start = None;
    for tag in tags(&html) {
        match tag {
            Tag { kind: Kind::Style, file, .. } => css += &slim::style(&read(file)?),
            Tag { kind: Kind::Start, file, .. } => start = Some(file),
            Tag { kind: Kind::File, file, .. } => add(page, name(file), read_bytes(file)?)?,
        }
    }
    let folder = start.and_then(|file| Path::new(file).parent()).ok_or("index.html starts no script")?;
    for script in beside(folder)? {
        let text = read(&folder.join(&script).to_string_lossy())?;
        add(page, &script, slim::script(&text).into_bytes())?;
    }
    let style = format!("style-{}.css", hash(css.as_bytes()));
    let html = renamed(&html, &style, programs).ok_or("index.html links to no style sheet")?;
    add(page, &style, css.into_bytes())?;
    add(page, "index.html", html.into_bytes())
}

fn add(page: &mut Files, name: &str, bytes: Vec<u8>) -> Result<(), String> {
    match page.insert(name.to_owned(), bytes) {
        None => Ok(()),
        Some(_) => Err(format!("two files of the page would be called {name}")),
    }
}

/// The scripts of a folder of the project, by name.
fn beside(folder: &Path) -> Result<Vec<String>, String> {
    let entries = root().join(folder).read_dir().map_err(|error| format!("{}: {error}", folder.display()))?;
    let names = entries.flatten().map(|entry| entry.file_name().to_string_lossy().into_owned());
    Ok(names.filter(|name| name.ends_with(".js")).collect())
}

/// What a link is for.
#[derive(Debug, PartialEq, Eq)]
enum Kind {
    Style,
    Start,
    File,
}

/// A tag that names a file: the whole of it, and the file.
struct Tag<'a> {
    kind: Kind,
    tag: &'a str,
    file: &'a str,
}

fn tags(html: &str) -> Vec<Tag<'_>> {
    let found = html.match_indices('<').filter_map(|(from, _)| {
        let tag = &html[from..];
        let tag = &tag[..=tag.find('>')?];
        if tag.starts_with("<script ") {
            return Some(Tag { kind: Kind::Start, tag, file: attribute(tag, "src")? });
        }
        let file = attribute(tag, "href").filter(|_| tag.starts_with("<link "))?;
        let kind = if attribute(tag, "rel") == Some("stylesheet") { Kind::Style } else { Kind::File };
        Some(Tag { kind, tag, file })
    });
    found.collect()
}

fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    tag.split_once(&format!(" {name}=\""))?.1.split('"').next()
}

/// The name of a file without its folder.
fn name(file: &str) -> &str {
    file.rsplit('/').next().unwrap_or(file)
}

/// The page with the names by which its files travel, `None` where there is no style sheet.
fn renamed(html: &str, style: &str, programs: &str) -> Option<String> {
    let tags = tags(html);
    let first = tags.iter().find(|tag| tag.kind == Kind::Style)?.tag;
    let one = html.replacen(first, &format!("<link rel=\"stylesheet\" href=\"{style}\">"), 1);
    let named = |html: String, tag: &Tag<'_>| match tag.kind {
        Kind::Style => html.replacen(&format!("{}\n", tag.tag), "", 1),
        Kind::Start => html.replacen(tag.tag, &tag.tag.replace(tag.file, &format!("{}?{programs}", name(tag.file))), 1),
        Kind::File => html.replacen(tag.tag, &tag.tag.replace(tag.file, name(tag.file)), 1),
    };
    Some(tags.iter().fold(one, named))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_named_as_they_travel_and_sheets_become_one() {
        let html = "<link rel=\"icon\" href=\"style/i.svg\" type=\"image/svg+xml\">\n\
            <link rel=\"stylesheet\" href=\"style/a.css\">\n<link rel=\"stylesheet\" href=\"style/b.css\">\n\
            <script id=\"start\" type=\"module\" src=\"src/start.js\"></script>\n<a href=\"elsewhere\">";
        let expected = "<link rel=\"icon\" href=\"i.svg\" type=\"image/svg+xml\">\n\
            <link rel=\"stylesheet\" href=\"style-0.css\">\n\
            <script id=\"start\" type=\"module\" src=\"start.js?a=1&amp;b=2\"></script>\n<a href=\"elsewhere\">";
        assert_eq!(renamed(html, "style-0.css", "a=1&amp;b=2").as_deref(), Some(expected));
        assert_eq!(renamed("<p>", "style-0.css", ""), None);
    }

    #[test]
    fn the_page_of_the_project_comes_with_all_it_names() {
        let mut page = Files::new();
        gather(&read("index.html").unwrap(), "page=lapmargin-page-1", &mut page).unwrap();
        let names: Vec<&str> = page.keys().map(String::as_str).filter(|name| !name.starts_with("style-")).collect();
        let expected = [
            "favicon.svg",
            "icon-192.png",
            "index.html",
            "lapmargin.webmanifest",
            "offline.js",
            "pictures.js",
            "start.js",
        ];
        assert_eq!(names, expected);
        let html = String::from_utf8(page["index.html"].clone()).unwrap();
        for tag in tags(&html) {
            assert!(page.contains_key(tag.file.split('?').next().unwrap()), "{}", tag.file);
        }
        assert!(html.contains("src=\"start.js?page=lapmargin-page-1\""), "{html}");
        // The policy travels as it is written: a second page that it lets in would be another page.
        assert!(html.contains("content=\"default-src 'none'; script-src 'self' 'wasm-unsafe-eval';"), "{html}");
        let manifest = String::from_utf8(page["lapmargin.webmanifest"].clone()).unwrap();
        let icons: Vec<&str> =
            manifest.split("\"src\": \"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        assert!(icons.len() == 2 && icons.iter().all(|icon| page.contains_key(*icon)), "{icons:?}");
    }
}
