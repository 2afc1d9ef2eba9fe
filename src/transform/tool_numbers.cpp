// Renumbers tools.
//   in   T3 M6 / G43 H3      with T3 of the program in place 13
//   out  T13 M6 / G43 H13

#include "transform/tool_numbers.hpp"

#include "transform/record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

namespace restep::transform {

using motion::Step;

namespace {

class ToolNumbers final : public motion::StepSource {
public:
  ToolNumbers(motion::StepSource& upstream, Context& context)
      : upstream_(upstream)
      , context_(context) {}

  bool next(Step& step) override {
    if (!upstream_.next(step)) return false;
    if (context_.setting.tool_numbers.empty()) return true;
    if (auto* select = std::get_if<motion::ToolSelect>(&step.event)) {
      rename(step, 'T', select->tool);
    } else if (auto* change = std::get_if<motion::ToolChange>(&step.event)) {
      tool_ = change->tool;
      rename(step, 'T', change->tool);
    } else if (auto* length = std::get_if<motion::LengthOffset>(&step.event)) {
      if (length->active) rename_offset(step, 'H', length->index);
    } else if (auto* side = std::get_if<motion::Compensation>(&step.event)) {
      if (side->side != motion::Side::off && side->index >= 0) rename_offset(step, 'D', side->index);
    }
    return true;
  }

  bool next_stretch(motion::Stretch& stretch) override { return upstream_.next_stretch(stretch); }

private:
  static constexpr std::string_view stage_name = "tool-numbers";

  motion::StepSource& upstream_;
  Context& context_;
  int tool_ = -1; ///< in the spindle, by the program's number

  void rename(Step& step, char letter, int& number) {
    auto const found = context_.setting.tool_numbers.find(number);
    if (found == context_.setting.tool_numbers.end() || found->second == number) return;
    record(context_, step, stage_name,
           [&] { return fmt::format("{0}{1} -> {0}{2}", letter, number, found->second); });
    number = found->second;
    step.touched = true;
  }

  /// Changed by hand, a tool leaves no number here: then the offset of any tool of the program is its own.
  bool is_the_tools(int index) const {
    if (tool_ >= 0) return index == tool_;
    std::vector<int> const& all = context_.survey.tools;
    return std::find(all.begin(), all.end(), index) != all.end();
  }

  void rename_offset(Step& step, char letter, int& index) {
    if (is_the_tools(index)) return rename(step, letter, index);
    if (index == 0) return;
    context_.findings.add(
        text::Severity::warning, "offset-number",
        fmt::format("{}{} is not the number of the tool in the spindle: it was not renumbered", letter,
                    index),
        "see that this offset is the right one on the machine", step.place);
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_tool_numbers(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ToolNumbers>(upstream, context);
}

} // namespace restep::transform
