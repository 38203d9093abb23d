//! Scripts, style sheets and the page itself without what only people read.

/// A script without comments that fill a line, empty lines and indentation. A text that runs over several lines would lose
/// its indentation; there is none in ours nor in what wasm-bindgen writes, and the browser tests run what comes out of this.
pub fn script(script: &str) -> String {
    let told = |line: &&str| !line.is_empty() && !line.starts_with("//");
    script.lines().map(str::trim).filter(told).flat_map(|line| [line, "\n"]).collect()
}

/// A page without comments, empty lines and indentation.
pub fn html(html: &str) -> String {
    let mut told = String::new();
    let mut rest = html;
    while let Some((before, after)) = rest.split_once("<!--") {
        told += before;
        rest = after.split_once("-->").map_or("", |(_, after)| after);
    }
    told += rest;
    told.lines().map(str::trim).filter(|line| !line.is_empty()).flat_map(|line| [line, "\n"]).collect()
}

/// A style sheet without comments and without white space that parts nothing: beside braces, semicolons and commas, and
/// behind a colon, which in a selector no white space follows. Texts in quotes stay as they are.
pub fn style(css: &str) -> String {
    let mut slim = String::with_capacity(css.len());
    let mut parted = false;
    let mut rest = css;
    while let Some(first) = rest.chars().next() {
        if let Some(comment) = rest.strip_prefix("/*") {
            rest = comment.split_once("*/").map_or("", |(_, after)| after);
            parted = true;
            continue;
        }
        if first.is_whitespace() {
            rest = &rest[first.len_utf8()..];
            parted = true;
            continue;
        }
        if parted && !"{};,".contains(first) && !slim.is_empty() && !slim.ends_with(['{', '}', ';', ',', ':']) {
            slim.push(' ');
        }
        parted = false;
        if first == '}' && slim.ends_with(';') {
            slim.pop();
        }
        let length = if ['"', '\''].contains(&first) { quoted(rest) } else { first.len_utf8() };
        slim += &rest[..length];
        rest = &rest[length..];
    }
    slim
}

/// The length of the text in quotes with which this begins.
fn quoted(text: &str) -> usize {
    let mut letters = text.char_indices();
    let quote = letters.next().map(|(_, quote)| quote);
    while let Some((at, letter)) = letters.next() {
        if letter == '\\' {
            letters.next();
        } else if Some(letter) == quote {
            return at + letter.len_utf8();
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_people_read_in_a_script_stays_at_home_and_nothing_else() {
        let told = "// one\n\n  // two\n  const a = \"//  b\"; // three\n    a;\n";
        assert_eq!(script(told), "const a = \"//  b\"; // three\na;\n");
    }

    #[test]
    fn a_page_loses_comments_over_several_lines() {
        assert_eq!(html("<p>\n  <!-- one\n two -->\n\n  <b>a <!-- c -->b</b>\n</p>"), "<p>\n<b>a b</b>\n</p>\n");
    }

    #[test]
    fn white_space_stays_where_it_parts_something() {
        let css = "/* one */\n@media (min-width: 40em) and (x) {\n  a:hover .b > c,\n  d :focus { margin: 0 -1px; --e: calc(1px + 2px); }\n}\n";
        let slim = "@media (min-width:40em) and (x){a:hover .b > c,d :focus{margin:0 -1px;--e:calc(1px + 2px)}}";
        assert_eq!(style(css), slim);
        // What is slim already stays so.
        assert_eq!(style(slim), slim);
        // A comment parts words as white space does (CSS Syntax Level 3, section 4.3.1: a comment ends a token).
        assert_eq!(style("a/**/b{}"), "a b{}");
    }

    #[test]
    fn texts_in_quotes_stay() {
        let css = "a::before { content: \" {  /* ; */ \\\"  \" ; font: 'a  b' , c }";
        assert_eq!(style(css), "a::before{content:\" {  /* ; */ \\\"  \";font:'a  b',c}");
        assert_eq!(style("a{b:\"not closed  "), "a{b:\"not closed  ");
    }
}
