#include "materials/tissue_table.hpp"

namespace torsowave::materials {
namespace {

// Parameters: C. Gabriel, "Compilation of the dielectric properties of body tissues at RF
// and microwave frequencies", report AL/OE-TR-1996-0037, 1996, Appendix C; model: S.
// Gabriel, R. W. Lau, C. Gabriel, Phys. Med. Biol. 41 (1996) 2271-2293. Two to four
// independent transcriptions of each row were compared; 40 of the 44 rows (and all shared
// ones) were also confirmed against a tabulation of the model by D. Andreuccetti, R.
// Fossi, C. Petrucci (Florence, 1997; 10 Hz to 100 GHz, five digits), within 1.3e-4: a 1
// % change of any used parameter would show there.
//
// Densities: the tissue density table of a public research foundation, as transcribed in
// a public script (accessed January 2026): a secondary source. The row's name is kept.
//
// {strength, tau, alpha}: tau in ps, ns, us, ms in turn, as published.
// clang-format off
constexpr auto published = std::to_array<PublishedRow>({
    {"aorta", "Aorta", 4, {{{40, 8.842, 0.1}, {50, 3.183, 0.1}, {100000, 159.155, 0.2}, {10000000, 1.592, 0}}}, 0.25,
     "Aorta", 3, true, 1102, "Blood Vessel Wall", ""},
    {"bile", "Bile (gall bladder)", 4, {{{66, 7.579, 0.05}, {50, 1.592, 0}, {0, 159.155, 0.2}, {0, 15.915, 0.2}}}, 1.4,
     "Gall Bladder Bile", 2, true, 928, "Bile", ""},
    {"bladder", "Bladder (wall)", 2.5, {{{16, 8.842, 0.1}, {400, 159.155, 0.1}, {100000, 159.155, 0.2}, {10000000, 15.915, 0}}}, 0.2,
     "Bladder", 3, true, 1086, "Urinary Bladder Wall", ""},
    {"blood", "Blood", 4, {{{56, 8.377, 0.1}, {5200, 132.629, 0.1}, {0, 159.155, 0.2}, {0, 15.915, 0}}}, 0.7,
     "Blood", 3, true, 1050, "Blood", ""},
    {"bone_cancellous", "Bone, cancellous", 2.5, {{{18, 13.263, 0.22}, {300, 79.577, 0.25}, {20000, 159.155, 0.2}, {20000000, 15.915, 0}}}, 0.07,
     "Bone (Cancellous)", 3, true, 1178, "Bone (Cancellous)", "contains red marrow, says the report"},
    {"bone_cortical", "Bone, cortical", 2.5, {{{10, 13.263, 0.2}, {180, 79.577, 0.2}, {5000, 159.155, 0.2}, {100000, 15.915, 0}}}, 0.02,
     "Bone (Cortical)", 4, true, 1908, "Bone (Cortical)", ""},
    {"bone_marrow_infiltrated", "Bone marrow, infiltrated (red)", 2.5, {{{9, 14.469, 0.2}, {80, 15.915, 0.1}, {10000, 1591.549, 0.1}, {2000000, 15.915, 0.1}}}, 0.1,
     "Bone Marrow (Infiltrated)", 3, false, 1029, "Bone Marrow (Red)", ""},
    {"bone_marrow_not_infiltrated", "Bone marrow, not infiltrated (yellow)", 2.5, {{{3, 7.958, 0.2}, {25, 15.915, 0.1}, {5000, 1591.549, 0.1}, {2000000, 15.915, 0.1}}}, 0.0005,
     "Bone Marrow (Not Infiltrated)", 3, true, 980, "Bone Marrow (Yellow)", "sigma: the report prints 0.001 (three decimals); 0.0005 in a copy and in the tabulation"},
    {"breast_fat", "Breast fat", 2.5, {{{3, 17.68, 0.1}, {15, 63.66, 0.1}, {50000, 454.7, 0.1}, {20000000, 13.26, 0}}}, 0.01,
     "Breast fat", 2, true, 911, "Breast Fat", ""},
    {"cartilage", "Cartilage", 4, {{{38, 13.263, 0.15}, {2500, 144.686, 0.15}, {100000, 318.31, 0.1}, {40000000, 15.915, 0}}}, 0.15,
     "Cartilage", 3, true, 1100, "Cartilage", ""},
    {"cerebellum", "Cerebellum", 4, {{{40, 7.958, 0.1}, {700, 15.915, 0.15}, {200000, 106.103, 0.22}, {45000000, 5.305, 0}}}, 0.04,
     "Cerebellum", 2, true, 1045, "Cerebellum", ""},
    {"cerebrospinal_fluid", "Cerebrospinal fluid", 4, {{{65, 7.958, 0.1}, {40, 1.592, 0}, {0, 159.155, 0}, {0, 15.915, 0}}}, 2,
     "Cerebro Spinal Fluid", 2, true, 1007, "Cerebrospinal Fluid", "terms 3 and 4 have no strength"},
    {"cervix", "Cervix", 4, {{{45, 7.958, 0.1}, {200, 15.915, 0.1}, {150000, 106.103, 0.18}, {40000000, 1.592, 0}}}, 0.3,
     "Cervix", 2, true, 1105, "Cervix", ""},
    {"colon", "Colon (large intestine wall)", 4, {{{50, 7.958, 0.1}, {3000, 159.155, 0.2}, {100000, 159.155, 0.2}, {40000000, 1.592, 0}}}, 0.01,
     "Colon", 3, true, 1088, "Large Intestine", ""},
    {"cornea", "Cornea", 4, {{{48, 7.958, 0.1}, {4000, 159.155, 0.05}, {100000, 15.915, 0.2}, {40000000, 15.915, 0}}}, 0.4,
     "Cornea", 2, true, 1062, "Eye (Cornea)", ""},
    {"dura", "Dura mater", 4, {{{40, 7.958, 0.15}, {200, 7.958, 0.1}, {10000, 159.155, 0.2}, {1000000, 15.915, 0}}}, 0.5,
     "Dura", 2, true, 1174, "Dura", ""},
    {"fat_average_infiltrated", "Fat, average infiltrated", 2.5, {{{9, 7.958, 0.2}, {35, 15.915, 0.1}, {33000, 159.155, 0.05}, {10000000, 15.915, 0.01}}}, 0.035,
     "Fat (Average Infiltrated)", 3, false, 911, "Fat (Average Infiltrated)", "mean value, says the report"},
    {"fat_not_infiltrated", "Fat, not infiltrated", 2.5, {{{3, 7.958, 0.2}, {15, 15.915, 0.1}, {33000, 159.155, 0.05}, {10000000, 7.958, 0.01}}}, 0.01,
     "Fat (Not Infiltrated)", 4, true, 911, "Fat (Not Infiltrated)", ""},
    {"gall_bladder", "Gall bladder (wall)", 4, {{{55, 7.579, 0.05}, {40, 1.592, 0}, {1000, 159.155, 0.2}, {10000, 15.915, 0}}}, 0.9,
     "Gall Bladder", 2, true, 1071, "Gallbladder", ""},
    {"grey_matter", "Brain, grey matter", 4, {{{45, 7.958, 0.1}, {400, 15.915, 0.15}, {200000, 106.103, 0.22}, {45000000, 5.305, 0}}}, 0.02,
     "Brain (Grey Matter)", 3, true, 1045, "Brain (Grey Matter)", ""},
    {"heart_muscle", "Heart muscle", 4, {{{50, 7.958, 0.1}, {1200, 159.155, 0.05}, {450000, 72.343, 0.22}, {25000000, 4.547, 0}}}, 0.05,
     "Heart", 3, true, 1081, "Heart Muscle", ""},
    {"kidney", "Kidney", 4, {{{47, 7.958, 0.1}, {3500, 198.944, 0.22}, {250000, 79.577, 0.22}, {30000000, 4.547, 0}}}, 0.05,
     "Kidney", 2, true, 1066, "Kidney", ""},
    {"lens_cortex", "Eye lens, cortex", 4, {{{42, 7.958, 0.1}, {1500, 79.577, 0.1}, {200000, 159.155, 0.1}, {40000000, 15.915, 0}}}, 0.3,
     "Lens Cortex", 2, true, 1076, "Eye Lens (Cortex)", "for the whole lens the report advises the mean of cortex and nucleus"},
    {"lens_nucleus", "Eye lens, nucleus", 3, {{{32, 8.842, 0.1}, {100, 10.61, 0.2}, {1000, 15.915, 0.2}, {5000, 15.915, 0}}}, 0.2,
     "Lens Nucleus", 2, false, 1076, "Eye Lens (Nucleus)", "for the whole lens the report advises the mean of cortex and nucleus"},
    {"liver", "Liver", 4, {{{39, 8.842, 0.1}, {6000, 530.516, 0.2}, {50000, 22.736, 0.2}, {30000000, 15.915, 0.05}}}, 0.02,
     "Liver", 3, false, 1079, "Liver", ""},
    {"lung_deflated", "Lung, deflated", 4, {{{45, 7.958, 0.1}, {1000, 159.155, 0.1}, {500000, 159.155, 0.2}, {10000000, 15.915, 0}}}, 0.2,
     "Lung (Deflated)", 3, true, 1050, "Lung (Deflated)", ""},
    {"lung_inflated", "Lung, inflated", 2.5, {{{18, 7.958, 0.1}, {500, 63.662, 0.1}, {250000, 159.155, 0.2}, {40000000, 7.958, 0}}}, 0.03,
     "Lung (Inflated)", 3, true, 394, "Lung (Inflated)", ""},
    {"muscle", "Muscle (transverse fibre)", 4, {{{50, 7.234, 0.1}, {7000, 353.678, 0.1}, {1200000, 318.31, 0.1}, {25000000, 2.274, 0}}}, 0.2,
     "Muscle", 4, true, 1090, "Muscle", "field across the fibres"},
    {"nerve", "Nerve", 4, {{{26, 7.958, 0.1}, {500, 106.103, 0.15}, {70000, 15.915, 0.2}, {40000000, 15.915, 0}}}, 0.006,
     "Nerve", 2, true, 1075, "Nerve", "the report lists it as spinal cord"},
    {"ovary", "Ovary", 4, {{{40, 8.842, 0.15}, {400, 15.915, 0.25}, {100000, 159.155, 0.27}, {40000000, 15.915, 0}}}, 0.3,
     "Ovary", 2, true, 1048, "Ovary", ""},
    {"sclera", "Sclera", 4, {{{50, 7.958, 0.1}, {4000, 159.155, 0.1}, {100000, 159.155, 0.2}, {5000000, 15.915, 0}}}, 0.5,
     "Eye Tissues (Sclera)", 2, true, 1032, "Eye (Sclera)", ""},
    {"skin_dry", "Skin, dry", 4, {{{32, 7.234, 0}, {1100, 32.481, 0.2}, {0, 159.155, 0.2}, {0, 15.915, 0.2}}}, 0.0002,
     "Skin (Dry)", 3, true, 1109, "Skin", "sigma: the report prints 0.000 (three decimals); 0.0002 in two copies and in the tabulation"},
    {"skin_wet", "Skin, wet", 4, {{{39, 7.958, 0.1}, {280, 79.577, 0}, {30000, 1.592, 0.16}, {30000, 1.592, 0.2}}}, 0.0004,
     "Skin (Wet)", 4, true, 1109, "Skin", "sigma: the report prints 0.000 (three decimals); 0.0004 in three copies and in the tabulation"},
    {"small_intestine", "Small intestine (wall)", 4, {{{50, 7.958, 0.1}, {10000, 159.155, 0.1}, {500000, 159.155, 0.2}, {40000000, 15.915, 0}}}, 0.5,
     "Small Intestine", 3, true, 1030, "Small Intestine", ""},
    {"spleen", "Spleen", 4, {{{48, 7.958, 0.1}, {2500, 63.662, 0.15}, {200000, 265.258, 0.25}, {50000000, 6.366, 0}}}, 0.03,
     "Spleen", 2, true, 1089, "Spleen", ""},
    {"stomach", "Stomach (wall)", 4, {{{60, 7.958, 0.1}, {2000, 79.577, 0.1}, {100000, 159.155, 0.2}, {40000000, 15.915, 0}}}, 0.5,
     "Stomach", 2, true, 1088, "Stomach", "the report names it for the whole upper digestive tract"},
    {"tendon", "Tendon", 4, {{{42, 12.243, 0.1}, {60, 6.366, 0.1}, {60000, 318.31, 0.22}, {20000000, 1.326, 0}}}, 0.25,
     "Tendon", 2, true, 1142, "Tendon/Ligament", ""},
    {"testis", "Testis", 4, {{{55, 7.958, 0.1}, {5000, 159.155, 0.1}, {100000, 159.155, 0.2}, {40000000, 15.915, 0}}}, 0.4,
     "Testis", 2, true, 1082, "Testis", "the report expects the prostate to be similar"},
    {"thyroid", "Thyroid", 4, {{{55, 7.958, 0.1}, {2500, 159.155, 0.1}, {100000, 159.155, 0.2}, {40000000, 15.915, 0}}}, 0.5,
     "Thyroid", 2, true, 1050, "Thyroid Gland", "the report expects the thymus to be similar"},
    {"tongue", "Tongue", 4, {{{50, 7.958, 0.1}, {4000, 159.155, 0.1}, {100000, 159.155, 0.2}, {40000000, 15.915, 0}}}, 0.25,
     "Tongue", 2, true, 1090, "Tongue", ""},
    {"trachea", "Trachea", 2.5, {{{38, 7.958, 0.1}, {400, 63.662, 0.1}, {50000, 15.915, 0.2}, {1000000, 15.915, 0}}}, 0.3,
     "Trachea", 2, true, 1080, "Trachea", ""},
    {"uterus", "Uterus", 4, {{{55, 7.958, 0.1}, {800, 31.831, 0.1}, {300000, 159.155, 0.2}, {35000000, 1.061, 0}}}, 0.2,
     "Uterus", 2, true, 1105, "Uterus", ""},
    {"vitreous_humour", "Vitreous humour", 4, {{{65, 7.234, 0}, {30, 159.155, 0.1}, {0, 159.155, 0}, {0, 15.915, 0}}}, 1.5,
     "Vitreous Humor", 2, true, 1005, "Eye (Vitreous Humor)", ""},
    {"white_matter", "Brain, white matter", 4, {{{32, 7.958, 0.1}, {100, 7.958, 0.1}, {40000, 53.052, 0.3}, {35000000, 7.958, 0.02}}}, 0.02,
     "Brain (White Matter)", 3, true, 1041, "Brain (White Matter)", ""},
});

constexpr auto shared = std::to_array<SharedRow>({
    {"blood_vessel_wall", "Blood vessel wall", "aorta", SameAs::tabulation_only, 1102, "Blood Vessel Wall", ""},
    {"body_fluid", "Body fluid", "vitreous_humour", SameAs::tabulation_only, 1011, "Extracellular Fluids", ""},
    {"duodenum", "Duodenum", "stomach", SameAs::report_remark, 1030, "Small Intestine (used for duodenum)", ""},
    {"gland", "Gland", "thyroid", SameAs::tabulation_only, 1048, "Salivary Gland (used for gland)", ""},
    {"lens", "Eye lens", "lens_cortex", SameAs::tabulation_only, 1076, "Eye (Lens)", "the report advises the mean of cortex and nucleus"},
    {"lymph", "Lymph", "thyroid", SameAs::tabulation_only, 1019, "Lymph", ""},
    {"mucous_membrane", "Mucous membrane", "skin_wet", SameAs::tabulation_only, 1102, "Mucous Membrane", ""},
    {"nail", "Nail", "bone_cortical", SameAs::tabulation_only, 0, "", ""},
    {"oesophagus", "Oesophagus", "stomach", SameAs::report_remark, 1040, "Esophagus", ""},
    {"pancreas", "Pancreas", "thyroid", SameAs::tabulation_only, 1087, "Pancreas", ""},
    {"prostate", "Prostate", "testis", SameAs::report_remark, 1045, "Prostate", ""},
    {"retina", "Retina", "sclera", SameAs::tabulation_only, 1036, "Eye (Retina)", ""},
    {"spinal_cord", "Spinal cord", "nerve", SameAs::report_remark, 1075, "Spinal Cord", ""},
    {"thymus", "Thymus", "thyroid", SameAs::report_remark, 1023, "Thymus", ""},
    {"tooth", "Tooth", "bone_cortical", SameAs::tabulation_only, 2180, "Tooth", ""},
});
// clang-format on

}  // namespace

std::span<const PublishedRow> published_rows() noexcept
{
  return published;
}

std::span<const SharedRow> shared_rows() noexcept
{
  return shared;
}

}  // namespace torsowave::materials
