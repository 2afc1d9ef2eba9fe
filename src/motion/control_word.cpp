#include "motion/control_word.hpp"

#include <fmt/format.h>

#include <string_view>

namespace restep::motion {
namespace {

std::string without_blanks(std::string_view text) {
  std::string packed;
  for (char const c : text)
    if (c != ' ' && c != '\t') packed += c;
  return packed;
}

struct CodeOf {
  std::string operator()(Coolant const& c) const { return fmt::format("M{}", 7 + static_cast<int>(c.kind)); }
  std::string operator()(Override const& o) const { return o.enabled ? "M48" : "M49"; }
  std::string operator()(Stop const& s) const {
    return s.kind == StopKind::optional ? "M1" : s.kind == StopKind::pallet ? "M60" : "";
  }
  std::string operator()(PathControl const& p) const {
    return p.mode == PathMode::exact_path ? "G61" : p.mode == PathMode::exact_stop ? "G61.1" : "G64";
  }
  std::string operator()(Carried const& c) const {
    return c.motion_unknown ? std::string{} : without_blanks(c.text);
  }
  template <typename Other>
  std::string operator()(Other const&) const {
    return {};
  }
};

} // namespace

std::string replaceable_code(Event const& event) {
  return std::visit(CodeOf{}, event);
}

} // namespace restep::motion
