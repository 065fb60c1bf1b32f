//! Sentences that promise what a cosmetic must not, and honest ones that use the same words.
//!
//! The phrases marked with a source are examples that the source itself gives, in a sentence of our own; the others are
//! invented for the plain mechanics of the word list.

#![expect(clippy::unwrap_used, clippy::indexing_slicing, reason = "a sentence that cannot be looked up fails the test")]

use std::sync::Arc;
use tarebook::collection::{Collection, Sources};

/// A claiming sentence, the words that must be found, and the published example it holds.
type Claiming = (&'static str, &'static str, &'static str);

const LETTERS: &str = "FDA, Warning Letters Address Drug Claims Made for Products Marketed as Cosmetics";
const BOTH: &str = "FDA, Is It a Cosmetic, a Drug, or Both?";
const WRINKLES: &str = "FDA, Wrinkle Treatments and Other Anti-aging Products";
const AROMA: &str = "FDA, Aromatherapy";
const CANADA: &str = "Health Canada, list of words that are not for cosmetics";
const TECHNICAL: &str = "Technical document on cosmetic claims, 3 July 2017, annexes III and IV";
const OWN: &str = "";

const CLAIMING: &[Claiming] = &[
    ("This bar treats dandruff.", "treats dandruff", LETTERS),
    ("Our face wash treats acne overnight.", "treats acne", LETTERS),
    ("The scrub reduces cellulite within a week.", "reduces cellulite", LETTERS),
    ("The body butter removes stretch marks.", "removes stretch marks", LETTERS),
    ("Rubbed in daily it removes wrinkles.", "removes wrinkles", WRINKLES),
    ("The tonic restores hair growth.", "restores hair growth", BOTH),
    ("It regrows hair where it had gone.", "regrows hair", BOTH),
    ("Rosemary prevents hair loss.", "prevents hair loss", "21 CFR 310.527"),
    ("The oil grows longer eyelashes.", "grows longer eyelashes", LETTERS),
    ("Peppermint stimulates the hair follicle.", "stimulates the hair follicle", "FDA warning letter 14-NYK-98"),
    ("It improves scalp circulation.", "improves scalp circulation", "FDA warning letter 14-NYK-98"),
    ("It unclogs follicles to reduce hair loss.", "unclogs follicles", "FDA warning letter 14-NYK-98"),
    ("The cream boosts the skin's collagen production.", "boosts the skin's collagen", WRINKLES),
    ("Oat stimulates elastin.", "stimulates elastin", "FDA warning letters of autumn 2012"),
    (
        "It reactivates the skin's repair process.",
        "reactivates the skin's repair process",
        "FDA warning letters of autumn 2012",
    ),
    ("The serum regenerates cells.", "regenerates cells", BOTH),
    ("The lotion decreases melanin production.", "decreases melanin", BOTH),
    ("A salve that treats varicose veins.", "treats varicose veins", BOTH),
    ("The rub relieves muscle pain after work.", "relieves muscle pain", BOTH),
    ("Lavender relaxes muscles.", "relaxes muscles", AROMA),
    ("A drop on the pillow helps you sleep.", "helps you sleep", AROMA),
    ("The balm treats anxiety and depression.", "treats anxiety and depression", AROMA),
    ("Rubbed on the belly it relieves colic.", "relieves colic", AROMA),
    ("The scent helps you to quit smoking.", "helps you to quit smoking", BOTH),
    ("Calendula is anti-inflammatory.", "anti-inflammatory", CANADA),
    ("It relieves inflammation.", "relieves inflammation", CANADA),
    ("The hand wash kills germs on your skin.", "wash kills germs", CANADA),
    ("An antiseptic cream for the allotment.", "antiseptic cream", CANADA),
    ("The ointment treats eczema, psoriasis and more.", "treats eczema", CANADA),
    ("It heals wounds.", "heals wounds", CANADA),
    ("The oil fades scars.", "fades scars", CANADA),
    (
        "This reduces visible redness and discomfort.",
        "reduces visible redness and discomfort",
        "FDA warning letter of 12 February 2015",
    ),
    ("The serum corrects dark spots.", "corrects dark spots", "FDA warning letter of 12 February 2015"),
    ("The balm has SPF 15.", "has SPF 15", "FDA, products that are drugs under US law"),
    (
        "It protects your face from sunburn.",
        "protects your face from sunburn",
        "FDA, products that are drugs under US law",
    ),
    ("The lotion stops itching.", "stops itching", "MHRA Guidance Note 8"),
    ("Tea tree soap is good for athlete's foot.", "good for athlete's foot", OWN),
    ("The mask detoxifies the body.", "mask detoxifies", OWN),
    ("It draws out toxins.", "draws out toxins", OWN),
    ("A healing balm for gardeners.", "healing balm", OWN),
    ("The cream heals cracked heels.", "heals cracked heels", OWN),
    ("It does not lather much, but it heals dry skin.", "heals dry skin", OWN),
    ("Not only does it soften, it cures eczema.", "cures eczema", OWN),
    ("An eczema cream for winter.", "eczema cream", OWN),
    ("Thyme has antibacterial properties for the skin.", "antibacterial properties", OWN),
    ("Honey has healing properties.", "healing properties", OWN),
    ("Our *healing* **balm** is back.", "healing* **balm", OWN),
    ("## Eczema relief", "Eczema relief", OWN),
    ("- treats acne\n- smells good", "treats acne", OWN),
    ("| for |\n| --- |\n| cures warts |", "cures warts", OWN),
    ("![heals wounds](https://tidewater.example/balm.svg)", "heals wounds", OWN),
    ("Use it as a natural sunscreen.", "natural sunscreen", OWN),
    ("Sage balances your hormones.", "balances your hormones", OWN),
    ("Oats are hypoallergenic.", "hypoallergenic", TECHNICAL),
    ("The wash is preservative-free.", "preservative-free", TECHNICAL),
    ("Our shampoo is free from parabens.", "free from parabens", TECHNICAL),
    ("It is free of allergens.", "free of allergens", TECHNICAL),
    ("A chemical-free soap.", "chemical-free", OWN),
    ("The soap contains no harsh chemicals.", "no harsh chemicals", OWN),
    ("It is non-toxic and mild.", "non-toxic", OWN),
    ("Dermatologist tested.", "Dermatologist tested", OWN),
    ("Clinically proven softness.", "Clinically proven", "CAP advice on rule 12.1"),
    ("It is safe for everyone.", "safe for everyone", OWN),
    ("The formula is FDA approved.", "FDA approved", "FDA, cosmetics are not approved"),
    ("It kills germs.", "It kills germs", CANADA),
    ("This soap kills bacteria and viruses.", "soap kills bacteria", CANADA),
    ("The balm protects from the sun.", "protects from the sun", "FDA, products that are drugs under US law"),
    ("With natural UV protection.", "UV protection", "FDA, products that are drugs under US law"),
    ("The gel soothes sunburn.", "soothes sunburn", "FDA, products that are drugs under US law"),
    ("A lotion for eczema.", "lotion for eczema", CANADA),
    ("It gives relief from eczema.", "relief from eczema", CANADA),
    ("My psoriasis went away in a week.", "My psoriasis went away", OWN),
    ("Nettle is good against dandruff.", "good against dandruff", LETTERS),
    ("The cream reduces wrinkles.", "reduces wrinkles", WRINKLES),
    ("The mask detoxifies.", "mask detoxifies", OWN),
    ("It is purely natural.", "purely natural", OWN),
    ("Not tested on animals.", "Not tested on animals", OWN),
    ("A long sentence about oats, beeswax and the allotment that ends with SPF 15.", "SPF 15", OWN),
    // An innocent negation, a heading or somebody else's claim excuses nothing.
    ("We do not test on animals and it treats acne.", "treats acne", OWN),
    ("It is no secret that it treats acne.", "treats acne", OWN),
    ("No perfume needed: SPF 30.", "SPF 30", OWN),
    ("No sunscreen needed: SPF 30.", "No sunscreen needed", OWN),
    ("Customers claim that it treats acne.", "treats acne", OWN),
    ("The law of nature: lavender heals burns.", "heals burns", OWN),
    ("It does not smell and heals wounds.", "heals wounds", OWN),
    ("Without palm oil it treats acne.", "treats acne", OWN),
    ("No perfume in our healing balm.", "healing balm", OWN),
    ("No fuss – heals wounds.", "heals wounds", OWN),
    ("No perfume, SPF 30.", "SPF 30", OWN),
    ("It never fails to heal wounds.", "to heal wounds", OWN),
    ("You will not believe how it heals wounds.", "heals wounds", OWN),
    ("No prescription needed, it cures eczema.", "cures eczema", OWN),
    ("Contains no palm oil and treats acne.", "treats acne", OWN),
    ("It is not greasy and is anti-inflammatory.", "anti-inflammatory", CANADA),
    ("Better than any doctor: it cures acne.", "cures acne", OWN),
    ("The cream regulates hormones.", "regulates hormones", OWN),
    ("Treats acne, as it says on the label.", "Treats acne", OWN),
    ("No empty promises: it heals wounds.", "heals wounds", OWN),
    ("Our clay mask treats acne.", "treats acne", LETTERS),
    ("# Claims\n\n- kills 99.9 % of germs", "kills 99", CANADA),
    ("# Claims we make\n\n- stops hair loss", "stops hair loss", "21 CFR 310.527"),
    ("## Our claims on the label\n\n- wound healing", "wound healing", CANADA),
    ("## We do not promise miracles\n\n- heals wounds", "heals wounds", CANADA),
    ("## A soap that does not use palm oil\n\nIt cures eczema.", "cures eczema", OWN),
    ("Our claims on the label:\n\n- heals wounds", "heals wounds", CANADA),
    ("An antiperspirant that stops sweating.", "stops sweating", "21 CFR part 350"),
    (
        "A sun cream for the whole family.",
        "sun cream for the whole family",
        "FDA, products that are drugs under US law",
    ),
    ("The balm replaces your sunscreen.", "replaces your sunscreen", "FDA, products that are drugs under US law"),
    ("Our mosquito repellent oil keeps ticks away.", "mosquito repellent", "Regulation (EU) No 528/2012"),
    ("The oil keeps ticks away.", "keeps ticks away", "Regulation (EU) No 528/2012"),
    ("For germ-free hands.", "germ-free hands", CANADA),
    ("Elder strengthens the immune system.", "strengthens the immune system", OWN),
    ("Prevents caries.", "Prevents caries", "21 CFR part 355"),
    ("Reduces fever in children.", "Reduces fever", OWN),
    ("Organic, so it needs no preservative.", "needs no preservative", "Regulation (EU) No 655/2013"),
    ("No more acne: it heals in a week.", "No more acne", OWN),
    ("A whitening cream that lightens dark spots.", "whitening cream", LETTERS),
];

/// Sentences of class notes that promise nothing. Invented.
const HONEST: &[&str] = &[
    "Cure the bars for six weeks on a rack.",
    "Boil the water first, since it kills germs that came with it.",
    "The dark bottle protects the oil against sunlight.",
    "Keep the oils protected from the sun.",
    "The preservative kills bacteria, and the acid keeps moulds away.",
    "The rash went away when we left the scent out, so it had been the scent.",
    "A cream for dry hands, a lotion for the summer, a soap for the workshop.",
    "Do not use the balm on a rash or on sunburn.",
    "Natural oils differ from lot to lot.",
    "The chalk is 95 % natural calcium carbonate of mineral origin.",
    "Nothing here was tested on anybody but us.",
    "A cured soap bar is harder and milder.",
    "The curing room is kept at 18 °C.",
    "Soap that has cured for a year lathers best.",
    "Treat the batch with care; it is still hot.",
    "Treats the mixture gently, as a whisk would not.",
    "Treated water is soft enough for the wash.",
    "The heat treatment of the extract takes an hour.",
    "Softened water treats hard-water scum on the tiles.",
    "Hair treatment with a rinse-out conditioner takes two minutes.",
    "The scratches on the plate heal over when it is polished.",
    "The healing time of the cracked mould is two days under resin.",
    "The citric acid prevents scale.",
    "A chelator prevents rancidity by holding metals.",
    "Tocopherol prevents oxidation of the oils.",
    "A slow stir prevents foam.",
    "A lid prevents the loss of water, which would raise every other share.",
    "The preservative kills bacteria and moulds in the jar.",
    "Boiling kills most germs in the water.",
    "Alcohol kills germs on tools; let it dry.",
    "Disinfect the tools with 70 % alcohol.",
    "Sanitise vessels and spatulas before you begin.",
    "Wash your hands before you weigh.",
    "Antimicrobial preservatives work below pH 5.5.",
    "It does not treat acne.",
    "We do not say that it heals.",
    "We must not claim to cure eczema.",
    "A cosmetic must never promise to cure a disease.",
    "The label doesn't say that it regrows hair.",
    "The label doesn’t say that it regrows hair.",
    "Never write \"heals wounds\" on a bottle.",
    "\"Treats acne\" must not stand on the bottle.",
    "“Anti-inflammatory” is a drug claim.",
    "Words such as heals wounds make a medicine of a soap.",
    "Does it cure eczema?",
    "If you have eczema, ask a doctor before you use it.",
    "A doctor treats eczema, a soap does not.",
    "Only a medicinal product may say that it prevents disease.",
    "It is not a disinfectant, and it does not kill germs on hands.",
    "A product that is sold to kill germs on skin needs an authorisation.",
    "No SPF can be worked out from a formula.",
    "We never print SPF 30 on a bottle.",
    "For the beach wear a tested sunscreen with SPF 30.",
    "Protect the bottle from the sun.",
    "Keep the oils from sunlight.",
    "Brown glass protects the oil from UV.",
    "It is not hypoallergenic; nothing is.",
    "We do not call it chemical-free.",
    "It needs no preservative, because it holds no water.",
    "Without a preservative the wash spoils in days.",
    "A preservative-free toner spoils in three days.",
    "Rinse the kettle free of soap.",
    "The lather is free of lumps.",
    "This wash is not dermatologist tested.",
    "Nobody has tested it clinically.",
    "No soap is safe for everyone.",
    "The balm makes fine lines look less noticeable.",
    "It reduces the appearance of wrinkles by holding water in.",
    "It cleanses hair and scalp.",
    "It leaves hair feeling fuller.",
    "Hair breaks less when it is combed.",
    "It removes loose flakes by washing.",
    "It softens, smooths and adds shine.",
    "It smells of lavender and makes the evening pleasant.",
    "The oil lubricates skin and gives it a scent.",
    "Panthenol moisturises dry skin.",
    "The balm protects lips from drying out in the wind.",
    "Glycerin draws water to the skin.",
    "Salt reduces the viscosity beyond its peak.",
    "Reducing the pH stops the browning.",
    "Raise the heat slowly; stop at 75 °C.",
    "Increase the stirring speed, and growth of crystals stops.",
    "Restore the water that has evaporated.",
    "Balance the formula with water.",
    "The pump restores circulation in the water bath.",
    "Circulation in the kettle improves when the stirrer is lower.",
    "Gloves prevent contact dermatitis in people who handle surfactants all day.",
    "A dust mask helps against asthma from enzyme powders.",
    "Rinse burns from lye under water for a quarter of an hour.",
    "Do not use it until the cut has healed.",
    "Keep it from eyes and from broken skin.",
    "Stop using it if a rash appears.",
    "A patch test shows most rashes within two days.",
    "Lye burns skin and eyes.",
    "Sunflower oil is pressed cold.",
    "The sun sets early, so we weigh by lamp light.",
    "Vitamin E is no preservative.",
    "The fat melts at 34 °C.",
    "Melt fat and wax in the water bath.",
    "Numb fingers spill powders; warm the room.",
    "A sleepy class makes slips; open a window.",
    "The strip reads 5.2, and the meter agrees.",
    "Remove the scar from the mould with fine paper.",
    "Clear up the bench and fight the urge to skip the label.",
    "Good for dry hair, and quick to rinse.",
    "Helps with combing.",
    "The remedy for a split emulsion is heat and patience.",
    "The cure for a thin gel is a little salt.",
    "It is safe for the drain.",
    "Natural origin says nothing about safety.",
    "Chemicals of the laboratory stand in the locked cupboard.",
    "Detergent cleanses; that is all it promises.",
    "Use it as a wash, not as a treatment for acne.",
    "The old label said that it ~~treats acne~~ cleanses.",
    "On the old label stood [treats acne](quoted: \"what a label must not say\").",
    "The word `hypoallergenic` is defined nowhere.",
    "Sorbic acid has little antibacterial action above pH 6.",
    "The extract is sold preservative-free, kept by its own alkalinity.",
    "Raw materials judged safe when formulated to be non-irritating still need a patch test.",
    "Phenoxyethanol has antimicrobial effect against bacteria in the water phase.",
    "Weigh the cream, then treat the next cup in the same way.",
    "Her hands smelled of soap, and the cat fled.",
    "In other words, the cold process cures slowly.",
    "Colds keep two of us at home, so we make half a batch.",
    "The foam fights back when the jug is small.",
    "Stops the stirrer before the lid is lifted.",
    "The thickener helps with the drip and clears the bottle neck.",
    "Salt crystals regrow in the cold.",
    "Grow the crystals slowly.",
    "The emulsifier repairs a split cream.",
    "The new label reduces doubt, and ends the guessing.",
    "See [the rules](https://example.org/heals-wounds).",
    "We tell why sun cream is not made in this class.",
    "Sunscreen is left to those who can test it.",
    "We make no sun cream for the family.",
    "A gel for acne-prone skin.",
    "A wash for acne-prone and for dry skin.",
    "Nobody may claim that it treats acne.",
    "We must not claim that it treats acne.",
    "No cosmetic cures eczema.",
    "No soap, cream or balm heals wounds.",
    "No soap treats acne and heals wounds at once.",
    "It does not kill germs, stop itching or heal wounds.",
    "There is no evidence that it treats acne.",
    "We do not know whether it heals wounds.",
    "Never write: heals wounds.",
    "We make no claim that it treats acne.",
    "The label may not say that this soap heals wounds.",
    "No claim such as “heals wounds” belongs on it.",
    "It neither cures eczema nor heals wounds.",
    "Antiperspirants are drugs in the US, so we make none.",
    "A cool cupboard stops the bars sweating.",
    "Aluminium salts are limited in an antiperspirant.",
    "A net keeps mosquitoes away from the open window.",
    "It does not replace your sunscreen.",
    "The oil is no mosquito repellent.",
    "A germ-free vessel is a clean and dry one.",
    "Fluoride stands in toothpaste, and we make none.",
    "Whoever has a fever stays at home.",
    "Organic oils spoil like others, so the cream needs a preservative.",
    "The lemon juice lightens the colour of the soap.",
    "Titanium dioxide whitens the bar.",
    "# Forbidden claims\n\n- treats acne",
    "# What a label must not say\n\n- kills 99.9 % of germs",
    "## Words we do not use\n\n- hypoallergenic",
    "A label must not say:\n\n- heals wounds",
];

/// The findings of notebooks that hold one sentence each: name, words and severity by notebook.
fn found(sentences: &[&str], rules: &str) -> Vec<Vec<(String, String)>> {
    let mut sources = Sources { settings: Some(Arc::from(format!("rules = {rules}\n"))), ..Sources::default() };
    for (index, sentence) in sentences.iter().enumerate() {
        sources.notebooks.insert(format!("{index:03}.md").into(), Arc::from(format!("{sentence}\n")));
    }
    let mut collection = Collection::new();
    collection.update(sources);
    let mut all = vec![Vec::new(); sentences.len()];
    for finding in collection.findings() {
        let index: usize = finding.place.path[..3].parse().unwrap();
        let text = collection.text_of(&finding.place.path).unwrap();
        all[index].push((finding.kind.name.to_owned(), text[finding.place.span.clone()].to_owned()));
    }
    all
}

#[test]
fn every_claim_is_found_at_its_words() {
    let sentences: Vec<&str> = CLAIMING.iter().map(|(sentence, _, _)| *sentence).collect();
    let all = found(&sentences, "[\"eu\", \"us\"]");
    let mut faults = Vec::new();
    for ((sentence, words, _), found) in CLAIMING.iter().zip(&all) {
        match found.as_slice() {
            [(kind, at)] if at == words && ["promises-a-cure", "doubtful-claim"].contains(&kind.as_str()) => {}
            other => faults.push(format!("{sentence} {other:?}")),
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn no_honest_sentence_is_accused() {
    let all = found(HONEST, "[\"eu\", \"us\"]");
    let faults: Vec<String> = HONEST
        .iter()
        .zip(&all)
        .filter(|(_, found)| !found.is_empty())
        .map(|(sentence, found)| format!("{sentence} {found:?}"))
        .collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn only_the_rules_of_the_collection_judge() {
    let sentences =
        ["This bar treats dandruff.", "It heals wounds.", "It is free from parabens.", "It lightens dark spots."];
    let count = |rules: &str| found(&sentences, rules).iter().map(Vec::len).collect::<Vec<_>>();
    assert_eq!(count("[\"eu\"]"), [0, 1, 1, 0]);
    assert_eq!(count("[\"us\"]"), [1, 1, 1, 1]);
    assert_eq!(count("[\"ifra\"]"), [0, 0, 0, 0]);
}
