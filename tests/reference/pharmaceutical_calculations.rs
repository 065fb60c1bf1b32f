//! US Army Medical Department, Subcourse MD0802, Pharmaceutical Calculations, lesson 2 (specific gravity).

use super::{Sheet, check, liquid, plain};

/// 10 mL of mineral oil of specific gravity 0.85 weigh 8.5 g; 240 mL of light liquid petrolatum of 0.81 weigh 194.4 g; 36 mL of
/// glycerin of 1.25 weigh the 45.0 g that they replace.
#[test]
fn weight_from_volume() {
    for (volume, gravity, printed) in [("10", "0.85", "8.5"), ("240", "0.81", "194.4"), ("36", "1.25", "45.0")] {
        let body = format!(
            "batch = \"300 g\"\nbalance = \"0.001 g\"\n[phase.A]\nbase = \"q.s. to 100\"\nsample = {{ volume = \"{volume} ml\" }}"
        );
        let sheet = Sheet::of(&[plain("base"), liquid("sample", gravity)], &body);
        check(sheet.figure("sample/weight"), printed);
    }
}
