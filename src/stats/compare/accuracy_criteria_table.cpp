// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/accuracy_criteria.h"

#include <utility>

namespace mk::stats {

namespace {

base::Decimal exactFigure(std::string_view text)
{
    return base::Decimal::parse(text).value();
}

using CriterionBands = std::vector<CriterionBand>;

/// An absolute limit below a threshold, a percent limit from it on.
CriterionBands limitBelow(std::string_view threshold, std::string_view absolute, std::string_view percent)
{
    return { { .to = exactFigure(threshold), .absolute = exactFigure(absolute) },
        { .from = exactFigure(threshold), .fromIncluded = true, .percent = exactFigure(percent) } };
}

/// The same with the threshold itself still under the absolute limit.
CriterionBands limitUpTo(std::string_view threshold, std::string_view absolute, std::string_view percent)
{
    return { { .to = exactFigure(threshold), .toIncluded = true, .absolute = exactFigure(absolute) },
        { .from = exactFigure(threshold), .percent = exactFigure(percent) } };
}

CriterionBands limitEverywhere(std::string_view percent)
{
    return { { .percent = exactFigure(percent) } };
}

CriterionTier bandTier(std::string_view name, std::string_view proportion, CriterionBands bands)
{
    return { name, exactFigure(proportion), CriterionMode::BandLimit, std::move(bands) };
}

/// The larger of an absolute and a percent limit, at every reference value.
CriterionTier greaterLimitTier(std::string_view name, std::string_view proportion, std::string_view absolute, std::string_view percent)
{
    return { name, exactFigure(proportion), CriterionMode::GreaterLimit,
        { { .absolute = exactFigure(absolute), .percent = exactFigure(percent) } } };
}

} // namespace

const std::vector<Criterion>& accuracyCriteria()
{
    static const std::vector<Criterion> criteria = {
        { .id = "iso15197_2013_mgdl",
            .title = "ISO 15197:2013 system accuracy (6.3.3)",
            .year = 2013,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "manufacturer (self-testing systems); widely borrowed by sites",
            .tiers = { bandTier("main", "0.95", limitBelow("100", "15", "15")) },
            .also = "99 % of results in consensus (Parkes) error grid zones A+B, type 1 grid; each of 3 strip lots; user performance "
                    "evaluation uses the 95 % part only",
            .status = "confirmed",
            .source = "Table 1 of J Diabetes Sci Technol 2015, doi 10.1177/1932296815580160 (PMC4525642); abstract of System Accuracy "
                      "Evaluation ... Two Different Comparison Methods (at and above / below 5.55 mmol/L)" },
        { .id = "iso15197_2013_mmol",
            .title = "ISO 15197:2013 in its own SI figures",
            .year = 2013,
            .unit = base::GlucoseUnit::MmolPerL,
            .audience = "manufacturer",
            .tiers = { bandTier("main", "0.95", limitBelow("5.55", "0.83", "15")) },
            .also = "the standard prints 0.83 and 5.55 mmol/L; they are not exact conversions of 15 and 100 mg/dL",
            .status = "confirmed",
            .source = "same as iso15197_2013_mgdl" },
        { .id = "iso15197_2003_mgdl",
            .title = "ISO 15197:2003",
            .year = 2003,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "manufacturer (superseded)",
            .tiers = { bandTier("main", "0.95", limitBelow("75", "15", "20")) },
            .status = "confirmed",
            .source = "PMC4525642 Table 1" },
        { .id = "iso15197_2003_mmol",
            .title = "ISO 15197:2003 in SI figures",
            .year = 2003,
            .unit = base::GlucoseUnit::MmolPerL,
            .audience = "manufacturer (superseded)",
            .tiers = { bandTier("main", "0.95", limitBelow("4.2", "0.83", "20")) },
            .status = "confirmed",
            .source = "owner-manual restatement of the standard (15 mg/dL = 0.83 mmol/L below 75 mg/dL = 4.2 mmol/L) and PMC4525642" },
        { .id = "poct12_a3",
            .title = "CLSI POCT12-A3 (2013)",
            .year = 2013,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "point of care site / facility with laboratory support",
            .tiers = { bandTier("95pct", "0.95", limitBelow("100", "12", "12.5")),
                bandTier("98pct", "0.98", limitBelow("75", "15", "20")) },
            .also = "second tier is phrased as: no more than 2 % of results may exceed it",
            .status = "confirmed (secondary)",
            .source = "letter in J Diabetes Sci Technol, Table 1 (PMC5951031); the guideline itself is sold and was not seen" },
        { .id = "fda_poc_2016",
            .title = "FDA Prescription Point-of-Care BGMS guidance (2016)",
            .year = 2016,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "manufacturer of hospital/point-of-care meters",
            .tiers = { bandTier("95pct", "0.95", limitBelow("75", "12", "12")), bandTier("98pct", "0.98", limitBelow("75", "15", "15")) },
            .status = "confirmed (secondary)",
            .source = "letter in J Diabetes Sci Technol, Table 1 (PMC5951031)" },
        { .id = "fda_poc_2020",
            .title = "FDA Prescription Point-of-Care BGMS guidance (2020 re-issue)",
            .year = 2020,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "manufacturer of hospital/point-of-care meters",
            .tiers = { bandTier("95pct", "0.95", limitBelow("75", "12", "12")), bandTier("98pct", "0.98", limitBelow("75", "15", "15")) },
            .status = "from memory (numbers); that a Sept 2020 re-issue exists and replaces 2016 is confirmed",
            .confirmed = false,
            .source
            = "FDA guidance index page for the OTC twin document (replaces 11 Oct 2016 guidance, same clarifications applied to the "
              "BGMS guidance)" },
        { .id = "fda_otc_2016",
            .title = "FDA Self-Monitoring OTC guidance (2016)",
            .year = 2016,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "manufacturer of home-use meters",
            .tiers = { bandTier("95pct", "0.95", limitEverywhere("15")), bandTier("99pct", "0.99", limitEverywhere("20")) },
            .status = "confirmed (secondary)",
            .source
            = "quotation of the guidance on a public page dated 2017-03; Table 2.1 of Glucose Monitoring Devices (ch. 2) for the 95 "
              "%/15 % part; PMC4525642 for the 2014 draft with the same figures" },
        { .id = "fda_otc_2020",
            .title = "FDA Self-Monitoring OTC guidance (Sept 2020)",
            .year = 2020,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "manufacturer of home-use meters",
            .tiers = { bandTier("95pct", "0.95", limitEverywhere("15")), bandTier("99pct", "0.99", limitEverywhere("20")) },
            .status = "from memory (numbers); re-issue in Sept 2020 confirmed",
            .confirmed = false,
            .source = "FDA guidance index page" },
        { .id = "fda_poc_2014_draft",
            .title = "FDA point-of-care DRAFT (2014), historical",
            .year = 2014,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "draft only, never in force",
            .tiers = { bandTier("99pct", "0.99", limitBelow("70", "7", "10")), bandTier("100pct", "1.00", limitBelow("70", "15", "20")) },
            .status = "confirmed (secondary)",
            .source = "letter in J Diabetes Sci Technol, Table 1 (PMC5951031); exact side of 70 mg/dL differs between restatements" },
        { .id = "clia_pt_1992",
            .title = "CLIA proficiency testing, glucose, 1992 rule (graded until end of 2024)",
            .year = 1992,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "laboratory proficiency testing; excludes devices FDA-cleared for home use",
            .tiers = { greaterLimitTier("sample", "1.00", "6", "10") },
            .also = "per-sample limit around the PT target value; an event normally needs 80 % of samples acceptable",
            .status = "confirmed (secondary)",
            .source = "an R package vignette restating the CLIA limit as 6 mg/dL or 10 %; a paper abstract using glucose TEa = 10 % under "
                      "CLIA" },
        { .id = "clia_pt_2025",
            .title = "CLIA proficiency testing, glucose, new rule",
            .year = 2025,
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "laboratory proficiency testing; excludes devices FDA-cleared for home use",
            .tiers = { greaterLimitTier("sample", "1.00", "6", "8") },
            .also = "87 FR 41194 (11 Jul 2022), effective 11 Jul 2024, graded from 1 Jan 2025",
            .status = "dates confirmed; the 8 %/6 mg/dL figures from memory (the stored copies of 42 CFR 493.931 and of "
                      "the Federal Register stop before the table)",
            .confirmed = false,
            .source = "Federal Register 2022-14513; AAB-MLE CLIA rules update page" },
        { .id = "rilibaek_iqc_to_2026",
            .title = "RiliBAEK 2019/2023, glucose internal QC, single control measurement, until the transition ends",
            .year = 2019,
            .audience = "site (Germany), internal quality control, control material",
            .tiers = { bandTier("single", "1.00", limitEverywhere("11")) },
            .status = "confirmed (secondary)",
            .source = "diabetologie-online.de article on Rili-BAEK internal QC (the 2023 update changes 11 % to 5 %)" },
        { .id = "rilibaek_iqc_2023",
            .title = "RiliBAEK 2023 (published 30 May 2023), glucose internal QC, single control measurement",
            .year = 2023,
            .audience = "site (Germany), internal quality control, control material; mandatory after 3 years = from June 2026",
            .tiers = { bandTier("single", "1.00", limitEverywhere("5")) },
            .status = "confirmed (secondary)",
            .source = "same article" },
        { .id = "rcpa_blood_gas",
            .title = "RCPA QAP allowable limits, glucose in the blood gas programme",
            .unit = base::GlucoseUnit::MmolPerL,
            .audience = "external quality assessment (Australasia)",
            .tiers = { bandTier("sample", "1.00", limitUpTo("10.0", "1.0", "10")) },
            .status = "confirmed (secondary copy of Appendix A)",
            .source = "Scribd copy of RCPA Allowable Limits of Performance; note <= at 10.0" },
        { .id = "rcpa_general_serum",
            .title = "RCPA QAP allowable limits, glucose in general serum chemistry",
            .unit = base::GlucoseUnit::MmolPerL,
            .audience = "external quality assessment (Australasia)",
            .tiers = { bandTier("sample", "1.00", limitUpTo("5.0", "0.4", "8")) },
            .status = "from memory",
            .confirmed = false,
            .source = "-" },
        { .id = "china_2010_facility",
            .title = "China Ministry of Health 2010 rules for portable glucose meters in medical institutions",
            .year = 2010,
            .unit = base::GlucoseUnit::MmolPerL,
            .audience = "point of care site",
            .tiers = { bandTier("main", "0.95", limitBelow("4.2", "0.83", "20")) },
            .also = "100 % in the clinically acceptable zone; day-to-day control SD <= 0.42 mmol/L (control < 5.5) or CV <= 7.5 % (control "
                    "> 5.5); range at least 1.1-27.7 mmol/L; haematocrit at least 30-60 %; plasma calibrated; unit locked to mmol/L",
            .status = "confirmed",
            .source = "public repost of the rule text" },
        { .id = "gbt19634_2005",
            .title = "GB/T 19634-2005",
            .year = 2005,
            .unit = base::GlucoseUnit::MmolPerL,
            .audience = "manufacturer (China)",
            .tiers = { bandTier("main", "0.95", limitUpTo("4.2", "0.83", "20")) },
            .also = "note <= 4.2 takes the absolute limit (ISO 2003 uses <); strip lot-to-lot difference <= 15 %; 95 % of control results "
                    "inside the strip range; repeatability SD < 0.42 mmol/L (< 5.5) or CV < 7.5 % (>= 5.5)",
            .status = "confirmed",
            .source = "public summary page quoting the tables" },
        { .id = "wst781_2021",
            .title = "WS/T 781-2021 (China), meter vs analyser comparison",
            .year = 2021,
            .unit = base::GlucoseUnit::MmolPerL,
            .audience = "point of care site",
            .tiers = { bandTier("main", "0.95", limitBelow("5.5", "0.83", "15")) },
            .also = "at least one comparison with the biochemistry analyser a year and one EQA a year (confirmed)",
            .status = "comparison frequency confirmed; the numeric limits from memory",
            .confirmed = false,
            .source = "public summary page of WS/T 781-2021" },
        { .id = "single_comparison_15",
            .title = "Common-practice tolerance for ONE meter-lab comparison",
            .unit = base::GlucoseUnit::MgPerDl,
            .audience = "point of care site, local policy",
            .tiers = { bandTier("single", "1.00", limitBelow("100", "15", "15")) },
            .also = "older owner manuals give 20 % instead; neither is a standard for a single pair: the standards judge a proportion of "
                    "many pairs",
            .status = "15 % taken from the ISO 15197:2013 limits; 20 % confirmed in a 2003 owner manual",
            .confirmed = false,
            .source = "public owner-manual pages on comparing meter and laboratory results" },
    };
    return criteria;
}

} // namespace mk::stats
