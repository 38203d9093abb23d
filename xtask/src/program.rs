//! The WebAssembly module of a program of the page, made smaller on the wire without a change of what it does.
//!
//! Custom sections go (names for debuggers, and by which tools it was made), imported functions take other names, equal
//! functions become one, and each function stands behind one that it is like ([`likeness`]).

use std::collections::{BTreeMap, HashMap};
use std::convert::Infallible;

use wasm_encoder::reencode::{Error, Reencode, utils};
use wasm_encoder::{CodeSection, FunctionSection, ImportSection, Module};
use wasmparser::{
    BinaryReaderError, CodeSectionReader, CustomSectionReader, FunctionSectionReader, ImportSectionReader, Parser,
    Payload, TypeRef,
};

use super::likeness;

/// The module as it is to travel. Imports that are not among `names` keep theirs.
///
/// # Errors
/// What is wrong with a module that is not well formed.
pub fn slimmed(program: &[u8], names: &BTreeMap<String, String>) -> Result<Vec<u8>, String> {
    let functions = Functions::of(program).map_err(|error| error.to_string())?;
    let (kept, stand_in) = functions.unlike();
    let bodies: Vec<&[u8]> = kept.iter().map(|&function| functions.bodies[function]).collect();
    let order: Vec<usize> = likeness::order(&bodies).into_iter().map(|place| kept[place]).collect();
    let mut places = vec![0; stand_in.len()];
    order.iter().enumerate().for_each(|(place, &function)| places[function] = place as u32);
    let indices = stand_in.into_iter().map(|function| functions.imported + places[function]).collect();
    let mut anew = Anew { names, imported: functions.imported, order, indices };
    let mut module = Module::new();
    anew.parse_core_module(&mut module, Parser::new(0), program).map_err(|error| error.to_string())?;
    Ok(module.finish())
}

/// The functions of a module: how many are imported, and of its own ones the types and the bodies.
#[derive(Default)]
struct Functions<'a> {
    imported: u32,
    types: Vec<u32>,
    bodies: Vec<&'a [u8]>,
}

impl<'a> Functions<'a> {
    fn of(program: &'a [u8]) -> Result<Self, BinaryReaderError> {
        let mut functions = Self::default();
        for payload in Parser::new(0).parse_all(program) {
            match payload? {
                Payload::ImportSection(section) => {
                    for import in section.into_imports() {
                        functions.imported += u32::from(matches!(import?.ty, TypeRef::Func(_) | TypeRef::FuncExact(_)));
                    }
                }
                Payload::FunctionSection(section) => {
                    functions.types = section.into_iter().collect::<Result<_, _>>()?;
                }
                Payload::CodeSectionEntry(body) => functions.bodies.push(body.as_bytes()),
                _ => {}
            }
        }
        Ok(functions)
    }

    /// Its own functions without those that are equal to an earlier one, and for every one the one that stands in for it.
    fn unlike(&self) -> (Vec<usize>, Vec<usize>) {
        let mut seen = HashMap::new();
        let all = self.types.iter().zip(&self.bodies).enumerate();
        let stand_in: Vec<usize> = all.map(|(index, function)| *seen.entry(function).or_insert(index)).collect();
        let kept = (0..stand_in.len()).filter(|&index| stand_in[index] == index).collect();
        (kept, stand_in)
    }
}

/// How a module is written anew.
struct Anew<'a> {
    names: &'a BTreeMap<String, String>,
    imported: u32,
    /// Which of the module's own functions comes first, second and so on.
    order: Vec<usize>,
    /// The index that each of them has from now on.
    indices: Vec<u32>,
}

impl Reencode for Anew<'_> {
    type Error = Infallible;

    fn function_index(&mut self, function: u32) -> Result<u32, Error> {
        let own = function.checked_sub(self.imported).and_then(|own| self.indices.get(own as usize));
        Ok(own.copied().unwrap_or(function))
    }

    fn parse_import_section(
        &mut self,
        imports: &mut ImportSection,
        section: ImportSectionReader<'_>,
    ) -> Result<(), Error> {
        for import in section.into_imports() {
            let import = import?;
            let name = self.names.get(import.name).map_or(import.name, String::as_str);
            imports.import(import.module, name, self.entity_type(import.ty)?);
        }
        Ok(())
    }

    fn parse_function_section(
        &mut self,
        functions: &mut FunctionSection,
        section: FunctionSectionReader<'_>,
    ) -> Result<(), Error> {
        let types = section.into_iter().collect::<Result<Vec<u32>, _>>()?;
        for &function in &self.order {
            functions.function(types[function]);
        }
        Ok(())
    }

    fn parse_code_section(&mut self, code: &mut CodeSection, section: CodeSectionReader<'_>) -> Result<(), Error> {
        let bodies = section.into_iter().collect::<Result<Vec<_>, _>>()?;
        for function in self.order.clone() {
            utils::parse_function_body(self, code, bodies[function].clone())?;
        }
        Ok(())
    }

    fn parse_custom_section(&mut self, _: &mut Module, _: CustomSectionReader<'_>) -> Result<(), Error> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use wasm_encoder::{CustomSection, ExportKind, ExportSection, Function, TypeSection, ValType};

    /// Imports `m.lent`, and three functions of its own that give 1, 1 and what the second gives; the third is exported.
    fn module(lent: &str) -> Vec<u8> {
        let mut types = TypeSection::new();
        types.ty().function([], [ValType::I32]);
        let mut imports = ImportSection::new();
        imports.import("m", lent, wasm_encoder::EntityType::Function(0));
        let (mut functions, mut code) = (FunctionSection::new(), CodeSection::new());
        for called in [None, None, Some(2)] {
            functions.function(0);
            let mut body = Function::new([]);
            match called {
                None => body.instructions().i32_const(1),
                Some(function) => body.instructions().call(function),
            };
            body.instructions().end();
            code.function(&body);
        }
        let mut exports = ExportSection::new();
        exports.export("last", ExportKind::Func, 3);
        let mut module = Module::new();
        module.section(&types).section(&imports).section(&functions).section(&exports).section(&code);
        module.section(&CustomSection { name: "made by".into(), data: [7; 300].as_slice().into() });
        module.finish()
    }

    #[test]
    fn equal_functions_become_one_and_calls_follow() {
        let names = BTreeMap::from([("a long name".to_owned(), "i0".to_owned())]);
        let slim = slimmed(&module("a long name"), &names).unwrap();
        wasmparser::Validator::new().validate_all(&slim).expect("it is well formed");
        let functions = Functions::of(&slim).unwrap();
        assert_eq!((functions.imported, functions.bodies.len()), (1, 2));
        let (mut last, mut import) = (0, String::new());
        for payload in Parser::new(0).parse_all(&slim) {
            match payload.unwrap() {
                Payload::ExportSection(section) => last = section.into_iter().next().unwrap().unwrap().index,
                Payload::ImportSection(section) => {
                    import = section.into_imports().next().unwrap().unwrap().name.to_owned();
                }
                Payload::CustomSection(_) => panic!("custom sections go"),
                _ => {}
            }
        }
        assert_eq!(import, "i0");
        // No locals, a call of the other function, the end.
        let other = 3 - last as u8;
        assert_eq!(functions.bodies[last as usize - 1], [0, 0x10, other, 0x0b]);
        assert_eq!(functions.bodies[other as usize - 1], [0, 0x41, 1, 0x0b]);
    }

    #[test]
    fn what_is_no_module_is_refused() {
        let module = module("kept");
        assert!(slimmed(&module[..module.len() - 310], &BTreeMap::new()).is_err(), "cut off in the middle");
        assert!(slimmed(b"wasm", &BTreeMap::new()).is_err());
    }
}
