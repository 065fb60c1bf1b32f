//! Regulation (EC) No 1272/2008, Annex VI table 3, to the 20th adaptation (EU) 2023/1435: signal word, statements and pictograms of
//! substances as the table prints them, and the specific concentration limits that decide for solutions. The rules that make a label
//! of statements: Articles 20 and 26 there; the order is the same in the UN text.

use super::d;
use tarebook::material::{Catalogue, Classification, Material, Signal};
use tarebook::quantity::Range;

#[track_caller]
fn material(id: &str) -> &'static Material {
    Catalogue::built_in().material(id).unwrap()
}

#[track_caller]
fn class(id: &str) -> &'static Classification {
    material(id).classification.as_deref().unwrap()
}

/// A material is labelled as the table prints it.
#[track_caller]
fn check(id: &str, signal: &str, statements: &str, pictograms: &str) {
    let known = class(id);
    assert_eq!(known.signal.map_or("", Signal::word), signal, "{id}");
    assert_eq!(known.statements.join(" "), statements, "{id}");
    assert_eq!(known.pictograms.join(" "), pictograms, "{id}");
}

/// A label made of statements alone.
#[track_caller]
fn check_label(statements: &str, signal: &str, pictograms: &str) {
    let codes: Vec<&str> = statements.split(' ').collect();
    let (found_signal, found_pictograms) = Catalogue::built_in().statements().label(&codes);
    assert_eq!(found_signal.map_or("", Signal::word), signal, "{statements}");
    assert_eq!(found_pictograms.join(" "), pictograms, "{statements}");
}

/// Annex VI: entries of substances that the catalogue holds near their full strength.
#[test]
fn substances_as_the_table_prints_them() {
    check("sodium-hydroxide", "Danger", "H314", "GHS05");
    check("potassium-hydroxide", "Danger", "H302 H314", "GHS05 GHS07");
    check("citric-acid", "Warning", "H319 H335", "GHS07");
    check("ethanol", "Danger", "H225", "GHS02");
    check("isopropyl-alcohol", "Danger", "H225 H319 H336", "GHS02 GHS07");
    check("sodium-carbonate", "Warning", "H319", "GHS07");
    check("borax", "Danger", "H360FD", "GHS08");
    check("salicylic-acid", "Danger", "H302 H318 H361d", "GHS05 GHS07 GHS08");
    check("potassium-sorbate", "Warning", "H319", "GHS07");
    check("phenoxyethanol", "Danger", "H302 H318 H335", "GHS05 GHS07");
    check("orange-oil", "Danger", "H226 H304 H315 H317 H410", "GHS02 GHS07 GHS08 GHS09");
}

/// Annex VI, L-(+)-lactic acid: H314 with EUH071, which brings neither a signal word nor a pictogram.
#[test]
fn lactic_acid() {
    check("lactic-acid", "Danger", "H314 EUH071", "GHS05");
}

/// Annex VI, specific limits: acetic acid irritates from 10 % and hydrogen peroxide irritates eyes from 5 %, so vinegar of 5 to 6 % and
/// a 3 % solution have no class by them.
#[test]
fn weak_solutions_have_no_class() {
    check("vinegar", "", "", "");
    check("hydrogen-peroxide-3", "", "", "");
    let strength = |id: &str| material(id).strength.as_ref().unwrap().range().unwrap();
    assert!(strength("vinegar").typical < d("10"));
    assert!(strength("hydrogen-peroxide-3").typical < d("5"));
}

/// Annex VI, sodium hydroxide: H314 from 2 %. Solutions of 10 % burn; one of 1 % is H315 and H319 there, and tarebook then says nothing
/// rather than the class of the stronger one.
#[test]
fn the_class_holds_for_its_strength_only() {
    check("sodium-hydroxide-10", "Danger", "H314", "GHS05");
    let lye = material("potassium-hydroxide");
    let at = |percent: &str| lye.classification_at(Some(Range::exactly(d(percent)))).is_some();
    assert!(at("88"));
    assert!(!at("1"));
    assert!(lye.classification_at(None).is_some());
}

/// Titanium dioxide: the class for inhaled powder was annulled (T-279/20 of 23 November 2022, C-71/23 P of 1 August 2025).
#[test]
fn an_annulled_class_is_gone() {
    check("titanium-dioxide", "", "", "");
}

/// Supplier sheets that were read: sodium cocoyl isethionate (CAS 61789-32-0, issue 24/12/2024), behentrimonium methosulfate blend
/// (9 September 2020), cocamidopropyl betaine (component EC 931-333-8, 29/11/2023).
#[test]
fn sheets_of_surfactants() {
    check("sodium-cocoyl-isethionate", "Warning", "H319 H412", "GHS07");
    check("behentrimonium-methosulfate-25", "Warning", "H315 H319 H335 H412", "GHS07");
    check("cocamidopropyl-betaine", "Danger", "H318 H412", "GHS05");
}

/// Article 20: "Danger" replaces "Warning".
#[test]
fn danger_replaces_warning() {
    check_label("H319 H315", "Warning", "GHS07");
    check_label("H225 H319", "Danger", "GHS02 GHS07");
    check_label("H412", "", "");
}

/// Article 26(1): with the corrosion no exclamation mark for skin and eye irritation, but one for what else asks for it.
#[test]
fn corrosion_stands_for_irritation() {
    check_label("H314 H319", "Danger", "GHS05");
    check_label("H315 H318", "Danger", "GHS05");
    check_label("H302 H315 H318", "Danger", "GHS05 GHS07");
    check_label("H317 H318", "Danger", "GHS05 GHS07");
}

/// Article 26(1): with the skull no exclamation mark.
#[test]
fn the_skull_stands_for_the_exclamation_mark() {
    check_label("H301 H315 H317", "Danger", "GHS06");
}

/// Article 26(1): with the health hazard for an allergy of the airways no exclamation mark for skin allergy or irritation.
#[test]
fn the_health_hazard_stands_for_skin_allergy() {
    check_label("H315 H317 H334", "Danger", "GHS08");
    check_label("H302 H317 H334", "Danger", "GHS07 GHS08");
    check_label("H317 H361d", "Warning", "GHS07 GHS08");
}

/// Annex VI: labels of substances that are no raw material of the catalogue, made from their statements alone. Acetic acid, hydrogen
/// peroxide, ammonia solution, benzoic acid, iodopropynyl butylcarbamate, methylisothiazolinone, ethanolamine, turpentine oil, formaldehyde.
#[test]
fn labels_as_the_table_prints_them() {
    check_label("H226 H314", "Danger", "GHS02 GHS05");
    check_label("H271 H302 H314 H332", "Danger", "GHS03 GHS05 GHS07");
    check_label("H314 H400", "Danger", "GHS05 GHS09");
    check_label("H315 H318 H372", "Danger", "GHS05 GHS08");
    check_label("H302 H317 H318 H331 H372 H410", "Danger", "GHS05 GHS06 GHS08 GHS09");
    check_label("H301 H311 H314 H317 H330 H410", "Danger", "GHS05 GHS06 GHS09");
    check_label("H302 H312 H314 H332", "Danger", "GHS05 GHS07");
    check_label("H226 H302 H304 H312 H315 H317 H319 H332 H411", "Danger", "GHS02 GHS07 GHS08 GHS09");
    check_label("H301 H311 H314 H317 H331 H341 H350", "Danger", "GHS05 GHS06 GHS08");
}
