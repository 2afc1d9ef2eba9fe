#include "proof/event_text.hpp"
#include "report/html_parts.hpp"

#include <fmt/format.h>

// The course of the whole program. What a stretch does is told by its stroke as well as by its colour: cuts
// are solid, rapids dashed, retracts dotted, and what the rewrite changed is underlaid; a finishing pass has
// a colour and its number.
namespace restep::report {

namespace {

std::string thinning_note(Toolpath const& path) {
  std::string note = fmt::format("{} motions", path.motions());
  if (path.tolerance() > 0)
    note += fmt::format(", drawn in {} lines that stay within {} mm of the path", path.stretches().size(),
                        proof::plain_number(path.tolerance(), 3));
  if (path.undrawn() > 0)
    note += fmt::format("; {} of them cannot be drawn, since not all ends are known or a rotary axis turns",
                        path.undrawn());
  return note + ". A drilling cycle counts as one.";
}

/// Which finishing pass a stretch belongs to, as a place in `passes`; their number where it belongs to none.
std::size_t pass_of(Stretch const& stretch, Toolpath const& path,
                    std::vector<finish::PassReport const*> const& passes) {
  std::uint32_t const line = path.blocks()[stretch.block].source;
  std::size_t k = 0;
  while (k < passes.size() && (line < passes[k]->first_line || line > passes[k]->last_line))
    ++k;
  return k;
}

/// The passes' lines and numbers, above all other lines.
void add_passes(Toolpath const& path, std::vector<finish::PassReport const*> const& passes,
                std::vector<PathLayer>& layers, std::vector<PathMark>& marks) {
  for (std::size_t k = 0; k < passes.size(); ++k) {
    auto const draws = [&path, &passes, k](Stretch const& s) {
      return s.kind == StretchKind::cut && pass_of(s, path, passes) == k;
    };
    std::string const style = fmt::format("cut p{}", k % pass_colours);
    layers.push_back({style, fmt::format("pass {}, cuts (solid, number at its beginning)", passes[k]->index),
                      &path, draws});
    for (Stretch const& stretch : path.stretches()) {
      if (!draws(stretch)) continue;
      marks.push_back({{stretch.from[0], stretch.from[1], stretch.from[2]},
                       fmt::format("{}", passes[k]->index),
                       fmt::format("p{}", k % pass_colours)});
      break;
    }
  }
}

} // namespace

std::vector<finish::PassReport const*> finishing_passes(ProgramReport const& report) {
  std::vector<finish::PassReport const*> passes;
  for (finish::PassReport const& pass : report.passes)
    if (surface_known(pass)) passes.push_back(&pass);
  return passes;
}

std::string path_section(ProgramReport const& report, Toolpath const& whole, PageKind kind) {
  if (whole.stretches().empty()) return {};
  Toolpath const path = whole.thinned(most_drawn);
  auto const passes = finishing_passes(report);
  std::vector<PathLayer> layers{
      {"edit", "changed or added by the rewrite (wide, behind the line)", &path,
       [](Stretch const& s) { return s.edited; }},
      {"rapid", "rapid (dashed)", &path, [](Stretch const& s) { return s.kind == StretchKind::rapid; }},
      {"retract", "retract: rapid upwards (dotted)", &path,
       [](Stretch const& s) { return s.kind == StretchKind::retract; }},
      {"cut", passes.empty() ? "cut (solid)" : "other cut (solid)", &path, [&](Stretch const& s) {
         return s.kind == StretchKind::cut && pass_of(s, path, passes) == passes.size();
       }}};
  std::vector<PathMark> marks;
  add_passes(path, passes, layers, marks);
  std::string text = "<section id=\"path\"><h2>The whole path</h2>";
  text += kind == PageKind::rewrite ? "<p>As read from the program that was written. "
                                    : "<p>As read from the program. ";
  text += thinning_note(path) + "</p><div id=\"path-space\" hidden></div>";
  return text +
         path_views(
             layers, marks,
             "Cuts are solid, rapids dashed, retracts dotted; what the rewrite changed is underlaid; a "
             "finishing pass has its number where it begins.") +
         "</section>\n";
}

} // namespace restep::report
