#include "report/cautions.hpp"

namespace restep::report {

namespace {

// Regulations: Code of Federal Regulations, title 29, sections as cited.
// NOLINTBEGIN(bugprone-suspicious-missing-comma): each is a text over many lines
constexpr std::string_view all[] = {
    "First run: read this report. Check tool numbers, lengths, corner radii and the work zero. Dry run above "
    "the "
    "part. Then feed override low, one hand on feed hold, single block at the first plunge and at each new "
    "tool, "
    "emergency stop within reach.",
    "This report knows depth steps, feeds, speeds and retracts. It cannot see clamps, vises, tool holders, "
    "the "
    "spindle nose, the state of the cutter or where the work zero really is.",
    "Cusp and Ra are those of the ideal tool on the ideal path. A cut surface is rougher: runout, "
    "deflection, wear "
    "and feed marks add to it.",
    "A corner radius that is 0.1 mm off leaves 41 um at 45 degrees.",
    "Guard the cutting zone: point of operation, turning parts, chips, sparks (29 CFR 1910.212(a)). Bench "
    "machines "
    "often come without an enclosure; fit one.",
    "Eye protection with side shields (29 CFR 1910.133(a)). Solid-carbide cutters shatter, hard chips are "
    "hot "
    "needles. Hearing and breathing protection as noise and dust require.",
    "No gloves, loose sleeves, rings or loose hair near a turning spindle. Stop it before you measure, touch "
    "the "
    "work or clear chips; use a brush or a hook, never the hand.",
    "Compressed air for cleaning only below 30 psi (about 2 bar), with chip guarding and eye protection "
    "(29 CFR 1910.242(b)).",
    "Coolant mist and skin contact cause asthma, lung and skin disease: enclose, extract, avoid splashes, "
    "wash. Keep "
    "fluid away from drives and mains; no flood coolant on a machine that was not built for it.",
    "Hot chips can light oil, paper and swarf: keep an extinguisher at hand, do not leave the machine "
    "unattended.",
    "Light frame: small depth and width of cut, short tool, listen for chatter. Thin walls and long overhang "
    "deflect "
    "by more than the cusp promised. Keep at least the minimum chip: rubbing work-hardens and breaks tools.",
};
// NOLINTEND(bugprone-suspicious-missing-comma)

} // namespace

std::span<std::string_view const> cautions() {
  return all;
}

} // namespace restep::report
