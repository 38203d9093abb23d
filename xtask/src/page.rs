//! The built page: the programs that Cargo compiles and what `index.html` names, each under the name by which it travels.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use wasm_bindgen_cli_support::Bindgen;

use crate::tools::Tools;
use crate::{imports, index, offline, root, slim, views};

/// Every file of a built page by its name. There are no folders in it, so that it runs below any address.
pub type Files = BTreeMap<String, Vec<u8>>;

/// Compiles the programs and puts the page together; `tools` say whether it is for a web host, which is to keep it for use
/// without a network.
///
/// # Errors
/// A sentence when something does not compile, cannot be read, or is not what it has to be.
pub fn build(tools: &Tools) -> Result<Files, String> {
    let compiled = tools.compile()?;
    let (mut page, mut names) = (Files::new(), Vec::new());
    for view in views::all() {
        let (script, program) = joined(&compiled, &views::program(view))?;
        let both = [script.as_bytes(), &program].concat();
        let name = format!("{}-{}", views::program(view), hash(&both));
        page.insert(format!("{name}.js"), script.into_bytes());
        page.insert(format!("{name}_bg.wasm"), program);
        names.push(format!("{view}={name}"));
    }
    index::gather(&read("index.html")?, &names.join("&amp;"), &mut page)?;
    if tools.for_host() {
        offline::list(&mut page)?;
    }
    Ok(page)
}

/// Makes a folder of the page; what was in it before goes.
///
/// # Errors
/// A sentence when a file cannot be written.
pub fn write(page: &Files, folder: &Path) -> Result<(), String> {
    let told = |error: std::io::Error| format!("{}: {error}", folder.display());
    if folder.exists() {
        fs::remove_dir_all(folder).map_err(told)?;
    }
    fs::create_dir_all(folder).map_err(told)?;
    page.iter().try_for_each(|(name, bytes)| fs::write(folder.join(name), bytes)).map_err(told)
}

/// A compiled program and the script through which it talks to the browser.
fn joined(compiled: &Path, program: &str) -> Result<(String, Vec<u8>), String> {
    let join = || {
        let mut bindgen = Bindgen::new();
        bindgen.input_path(compiled.join(format!("{program}.wasm"))).out_name(program).web(true)?;
        // Names are for debuggers; so are the tools by which it was made.
        bindgen.typescript(false).remove_name_section(true).remove_producers_section(true).generate_output()
    };
    let mut output = join().map_err(|error| format!("{program}: {error:#}"))?;
    // The list names every package that could bring some.
    if output.snippets().values().any(|own| !own.is_empty()) || !output.local_modules().is_empty() {
        return Err(format!("{program} brings scripts of its own, which the page does not carry"));
    }
    Ok(imports::shorten(slim::script(output.js()), output.wasm_mut().emit_wasm()))
}

/// The part of a digest by which files of one name and different content are told apart.
pub fn hash(bytes: &[u8]) -> String {
    offline::hash(bytes)[..16].to_owned()
}

/// A file of the project, as text.
pub fn read(file: &str) -> Result<String, String> {
    fs::read_to_string(root().join(file)).map_err(|error| format!("{file}: {error}"))
}

/// A file of the project.
pub fn read_bytes(file: &str) -> Result<Vec<u8>, String> {
    fs::read(root().join(file)).map_err(|error| format!("{file}: {error}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_written_page_holds_its_files_and_no_others() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/tmp/written-page");
        write(&Files::from([("old.js".into(), b"1".to_vec())]), &folder).unwrap();
        write(&Files::from([("new.js".into(), b"2".to_vec())]), &folder).unwrap();
        let left: Vec<_> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        assert_eq!(left, ["new.js"]);
        assert_eq!(fs::read(folder.join("new.js")).unwrap(), b"2");
    }
}
