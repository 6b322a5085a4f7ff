//! The order of a program's functions: those that are alike beside each other.
//!
//! What travels is compressed, and deflate (RFC 1951) looks back no further than 32 KB. A
//! generic function that was made for thirty types lies about in thirty places; side by side
//! they are little more than one. Nothing else of the program changes.

use std::collections::{HashMap, VecDeque};

use wasm_encoder::reencode::{Error, Reencode};
use wasm_encoder::{CodeSection, FunctionSection, Module};
use wasmparser::{CodeSectionReader, FunctionSectionReader, Parser, Payload};

/// Bytes that have to be the same for two places to count as alike. Of 5 to 8 the best, by
/// little (measured here, as the other two).
const RUN: usize = 6;
/// Bytes before a function that it may be like: most of what deflate sees.
const SIGHT: usize = 24 * 1024;
/// A run that is in more functions than this says nothing of any.
const COMMON: usize = 2000;

/// What a run tells that only one function has; a whole number of steps, so that sums are exact.
const MOST_TOLD: f64 = 1024.0;

/// The program with its functions in the order in which it compresses best.
///
/// # Errors
/// It is no program, in the words of the library that reads it.
pub(super) fn ordered(wasm: &[u8]) -> Result<Vec<u8>, String> {
    let mut imported = 0;
    let mut bodies: Vec<&[u8]> = Vec::new();
    for payload in Parser::new(0).parse_all(wasm) {
        match payload.map_err(|e| e.to_string())? {
            Payload::ImportSection(imports) => {
                for import in imports.into_imports() {
                    let kind = import.map_err(|e| e.to_string())?.ty;
                    imported += u32::from(matches!(kind, wasmparser::TypeRef::Func(_)));
                }
            }
            Payload::CodeSectionEntry(body) => bodies.push(&wasm[body.range()]),
            _ => {}
        }
    }
    let order = order(&bodies);
    let mut new = vec![0; bodies.len()];
    for (to, &from) in order.iter().enumerate() {
        new[from] = imported + u32::try_from(to).map_err(|e| e.to_string())?;
    }
    let mut module = Module::new();
    Moved { imported, order, new }.parse_core_module(&mut module, Parser::new(0), wasm).map_err(|e| e.to_string())?;
    Ok(module.finish())
}

/// The order: next comes the function of which most is in what comes before it, in sight.
fn order(bodies: &[&[u8]]) -> Vec<usize> {
    let runs = Runs::of(bodies);
    // What a function's runs that are in sight tell, and how often each of them is there.
    let mut seen = vec![0_u32; bodies.len()];
    let mut in_sight = vec![0_u32; runs.holders.len()];
    let (mut sight, mut bytes) = (VecDeque::new(), 0);
    let mut left: Vec<usize> = (0..bodies.len()).collect();
    let mut order = Vec::with_capacity(bodies.len());
    // Between how much is alike and which share of the function that is.
    let weight: Vec<f64> = bodies.iter().map(|b| (b.len() as f64).sqrt()).collect();
    while !left.is_empty() {
        let mut best = (0, -1.0);
        for (at, &one) in left.iter().enumerate() {
            let share = f64::from(seen[one]) / weight[one];
            if share > best.1 {
                best = (at, share);
            }
        }
        let next = left.remove(best.0);
        order.push(next);
        sight.push_back(next);
        bytes += bodies[next].len();
        for &run in &runs.of[next] {
            in_sight[run] += 1;
            if in_sight[run] == 1 {
                runs.telling(run).iter().for_each(|&one| seen[one] += runs.tells[run]);
            }
        }
        while bytes > SIGHT && sight.len() > 1 {
            let Some(gone) = sight.pop_front() else { break };
            bytes -= bodies[gone].len();
            for &run in &runs.of[gone] {
                in_sight[run] -= 1;
                if in_sight[run] == 0 {
                    runs.telling(run).iter().for_each(|&one| seen[one] -= runs.tells[run]);
                }
            }
        }
    }
    order
}

/// Every run of [`RUN`] bytes, by a number.
struct Runs {
    /// Those of each function, each once.
    of: Vec<Vec<usize>>,
    /// The functions that each is in.
    holders: Vec<Vec<usize>>,
    /// How much each tells: the more, the fewer have it.
    tells: Vec<u32>,
}

impl Runs {
    fn of(bodies: &[&[u8]]) -> Self {
        let mut number: HashMap<&[u8], usize> = HashMap::new();
        let mut holders: Vec<Vec<usize>> = Vec::new();
        let mut of = Vec::with_capacity(bodies.len());
        for (one, body) in bodies.iter().enumerate() {
            let mut runs = Vec::new();
            for run in body.windows(RUN) {
                let run = *number.entry(run).or_insert(holders.len());
                if run == holders.len() {
                    holders.push(Vec::new());
                }
                if holders[run].last() != Some(&one) {
                    holders[run].push(one);
                    runs.push(run);
                }
            }
            of.push(runs);
        }
        // By the fourth root, the best of those that were tried: half a per cent less.
        let tells = |holders: &Vec<usize>| (MOST_TOLD / (holders.len() as f64).sqrt().sqrt()) as u32;
        let tells = holders.iter().map(tells).collect();
        Self { of, holders, tells }
    }

    /// The functions that a run is in, if it says anything of them.
    fn telling(&self, run: usize) -> &[usize] {
        let holders = &self.holders[run];
        if holders.len() <= COMMON { holders } else { &[] }
    }
}

/// Writes the program again with every number of a function changed.
struct Moved {
    imported: u32,
    /// The functions in their new order, by their old places among those not imported.
    order: Vec<usize>,
    /// The new number of each.
    new: Vec<u32>,
}

impl Reencode for Moved {
    type Error = std::convert::Infallible;

    fn function_index(&mut self, function: u32) -> Result<u32, Error<Self::Error>> {
        let own = function.checked_sub(self.imported).and_then(|own| self.new.get(own as usize));
        Ok(own.copied().unwrap_or(function))
    }

    fn parse_function_section(
        &mut self,
        functions: &mut FunctionSection,
        section: FunctionSectionReader<'_>,
    ) -> Result<(), Error<Self::Error>> {
        let types = section.into_iter().collect::<Result<Vec<u32>, _>>()?;
        for from in self.order.clone() {
            let Some(&kind) = types.get(from) else { continue };
            functions.function(self.type_index(kind)?);
        }
        Ok(())
    }

    fn parse_code_section(
        &mut self,
        code: &mut CodeSection,
        section: CodeSectionReader<'_>,
    ) -> Result<(), Error<Self::Error>> {
        let bodies = section.into_iter().collect::<Result<Vec<_>, _>>()?;
        for from in self.order.clone() {
            if let Some(body) = bodies.get(from) {
                self.parse_function_body(code, body.clone())?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alike_comes_after_alike_and_nothing_is_lost() {
        let bodies: [&[u8]; 5] = [b"abcdefghijkl", b"0123456789", b"abcdefghijkm", b"01234567", b"uvwxyz"];
        assert_eq!(order(&bodies), [0, 2, 1, 3, 4]);
        assert_eq!(order(&[]), [0; 0]);
    }

    #[test]
    fn every_call_and_name_finds_its_function_again() {
        let wasm = program();
        let made = ordered(&wasm).unwrap();
        wasmparser::validate(&made).unwrap();
        assert_ne!(made, wasm);
        assert_eq!(shown(&made), shown(&wasm));
        assert!(ordered(b"no program").is_err());
    }

    /// An imported function, and eight of their own: even ones are alike, odd ones too, and
    /// each calls the one after it and the imported one.
    fn program() -> Vec<u8> {
        use wasm_encoder::*;
        let mut types = TypeSection::new();
        types.ty().function([], []);
        types.ty().function([], [ValType::I32]);
        let mut imports = ImportSection::new();
        imports.import("page", "say", EntityType::Function(0));
        let (mut functions, mut code) = (FunctionSection::new(), CodeSection::new());
        let (mut exports, mut elements) = (ExportSection::new(), ElementSection::new());
        for one in 0..8 {
            functions.function(one % 2);
            let mut body = Function::new([]);
            body.instructions().call(0);
            body.instructions().call(1 + (one + 1) % 8);
            if one % 2 == 0 {
                body.instructions().drop().i32_const(11_111).drop();
            } else {
                body.instructions().i64_const(22_222_222).drop().i32_const(one as i32);
            }
            body.instructions().end();
            code.function(&body);
            exports.export(&format!("f{one}"), ExportKind::Func, 1 + one);
        }
        let mut tables = TableSection::new();
        let element_type = RefType::FUNCREF;
        tables.table(TableType { element_type, table64: false, minimum: 2, maximum: None, shared: false });
        elements.active(Some(0), &ConstExpr::i32_const(0), Elements::Functions(vec![0, 3].into()));
        let mut module = Module::new();
        module.section(&types).section(&imports).section(&functions).section(&tables);
        module.section(&exports).section(&elements).section(&code);
        module.finish()
    }

    /// Each exported function with what it does, calls by the name of what is called.
    fn shown(wasm: &[u8]) -> Vec<String> {
        let (mut names, mut bodies, mut elements) = (vec!["say".to_owned(); 9], Vec::new(), Vec::new());
        for payload in Parser::new(0).parse_all(wasm) {
            match payload.unwrap() {
                Payload::ExportSection(exports) => {
                    exports.into_iter().map(Result::unwrap).for_each(|e| names[e.index as usize] = e.name.to_owned());
                }
                Payload::ElementSection(all) => {
                    for one in all {
                        let wasmparser::ElementItems::Functions(functions) = one.unwrap().items else { continue };
                        elements.extend(functions.into_iter().map(Result::unwrap));
                    }
                }
                Payload::CodeSectionEntry(body) => {
                    let all = body.get_operators_reader().unwrap().into_iter().map(Result::unwrap);
                    bodies.push(all.collect::<Vec<_>>());
                }
                _ => {}
            }
        }
        let name = |n: u32| names[n as usize].clone();
        let says = |o: &wasmparser::Operator<'_>| match o {
            wasmparser::Operator::Call { function_index } => format!("call {}", name(*function_index)),
            other => format!("{other:?}"),
        };
        let mut all: Vec<String> = bodies
            .iter()
            .enumerate()
            .map(|(i, body)| format!("{}: {:?}", names[i + 1], body.iter().map(says).collect::<Vec<_>>()))
            .collect();
        all.sort();
        all.push(elements.into_iter().map(name).collect());
        all
    }
}
