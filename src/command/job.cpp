#include "command/rewrite_options.hpp"
#include "dialect/nearest.hpp"
#include "motion/work_offset.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <charconv>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>

namespace restep::command {

namespace {

/// Reads the keys of one job file; the first thing that is wrong is kept.
class JobReader {
public:
  JobReader(std::string file, toml::table const& table)
      : file_(std::move(file))
      , folder_(std::filesystem::path(file_).parent_path())
      , table_(table) {}

  void text(char const* key, std::string& value) {
    toml::node const* node = find(key);
    if (node == nullptr || !value.empty()) return;
    if (auto const text = node->value_exact<std::string>())
      value = *text;
    else
      wrong(*node, fmt::format("'{}' wants a text", key));
  }

  void path(char const* key, std::string& value) {
    bool const open = value.empty();
    text(key, value);
    if (open && !value.empty()) value = beside(value);
  }

  /// A profile: a name stays as it is, a file is found beside the job.
  void profile(char const* key, std::string& value) {
    bool const open = value.empty();
    text(key, value);
    if (open) value = profile_beside(value);
  }

  /// One profile or several.
  void profiles(char const* key, std::vector<std::string>& values) {
    bool const open = values.empty();
    for (std::string const& value : texts(key))
      if (open) values.push_back(profile_beside(value));
  }

  void flag(char const* key, bool& value) {
    toml::node const* node = find(key);
    if (node == nullptr) return;
    if (auto const given = node->value_exact<bool>())
      value = value || *given;
    else
      wrong(*node, fmt::format("'{}' wants true or false", key));
  }

  /// Yes, no, or nothing said.
  void choice(char const* key, std::optional<bool>& value) {
    toml::node const* node = find(key);
    if (node == nullptr) return;
    value = node->value_exact<bool>();
    if (!value) wrong(*node, fmt::format("'{}' wants true or false", key));
  }

  /// One text or several.
  std::vector<std::string> texts(char const* key) {
    std::vector<std::string> values;
    toml::node const* node = find(key);
    if (node == nullptr) return values;
    if (auto const one = node->value_exact<std::string>()) {
      values.push_back(*one);
    } else if (toml::array const* list = node->as_array()) {
      for (toml::node const& item : *list) {
        if (auto const each = item.value_exact<std::string>())
          values.push_back(*each);
        else
          wrong(item, fmt::format("'{}' wants texts", key));
      }
    } else {
      wrong(*node, fmt::format("'{}' wants a text or a list of texts", key));
    }
    return values;
  }

  /// The tables of a list of tables ([[key]]), each to be read by `read`.
  template <class Read>
  void tables(char const* key, Read const& read) {
    toml::node const* node = find(key);
    if (node == nullptr) return;
    toml::array const* list = node->as_array();
    if (list == nullptr || !list->is_homogeneous<toml::table>()) {
      wrong(*node, fmt::format("'{0}' wants tables: [[{0}]]", key));
      return;
    }
    for (toml::node const& item : *list) {
      JobReader inner(file_, *item.as_table());
      read(inner);
      if (auto const done = inner.result(); !done && !failure_) failure_ = done.error();
    }
  }

  /// One table ([key]), to be read by `read`.
  template <class Read>
  void inner(char const* key, Read const& read) {
    toml::node const* node = find(key);
    if (node == nullptr) return;
    toml::table const* table = node->as_table();
    if (table == nullptr) return wrong(*node, fmt::format("'{0}' wants a table: [{0}]", key));
    JobReader keys(file_, *table);
    read(keys);
    if (auto const done = keys.result(); !done && !failure_) failure_ = done.error();
  }

  bool has(std::string const& key) const { return table_.contains(key); }

  /// Three coordinates in mm; false when the key is not there.
  bool point(char const* key, motion::Vec3& value) {
    toml::node const* node = find(key);
    if (node == nullptr) return false;
    toml::array const* list = node->as_array();
    bool right = list != nullptr && list->size() == 3;
    for (std::size_t axis = 0; right && axis < 3; ++axis) {
      auto const number = (*list)[axis].value<double>();
      right = number && std::isfinite(*number);
      if (right) value[static_cast<int>(axis)] = *number;
    }
    if (!right) wrong(*node, fmt::format("'{}' wants three numbers in mm, [X, Y, Z]", key));
    return right;
  }

  /// Every key is a tool number and so is its value; no two keys have one value.
  void tool_numbers(std::map<int, int>& numbers) {
    constexpr std::int64_t most = 99999;
    for (auto const& [key, node] : table_) {
      std::string const name(key.str());
      known_.push_back(name);
      int from = 0;
      auto const [end, error] = std::from_chars(name.data(), name.data() + name.size(), from);
      auto const to = node.value_exact<std::int64_t>();
      if (error != std::errc{} || end != name.data() + name.size() || from < 0 || !to || *to < 0 ||
          *to > most) {
        wrong(node, fmt::format("'{}' is not a pair of tool numbers", name), "for example 3 = 13");
        continue;
      }
      for (auto const& [other, taken] : numbers)
        if (taken == *to) wrong(node, fmt::format("T{} and T{} cannot both be T{}", other, from, taken));
      numbers.emplace(from, static_cast<int>(*to));
    }
  }

  /// Every key is a number of G43's H and its value a length in mm.
  void lengths(std::map<int, double>& lengths) {
    for (auto const& [key, node] : table_) {
      std::string const name(key.str());
      known_.push_back(name);
      int index = 0;
      auto const [end, error] = std::from_chars(name.data(), name.data() + name.size(), index);
      auto const length = node.value<double>();
      if (error != std::errc{} || end != name.data() + name.size() || index < 1 || !length ||
          !(std::abs(*length) <= 10'000)) {
        wrong(node, fmt::format("'{}' is not a tool length", name), "for example 3 = 85.2, in mm by H");
        continue;
      }
      lengths[index] = *length;
    }
  }

  /// "part.toml:26": where the table begins.
  std::string place() const {
    return fmt::format("{}:{}", std::filesystem::path(file_).filename().string(), table_.source().begin.line);
  }

  /// Says that a table makes no sense as a whole.
  void refuse(std::string const& what, std::string hint = {}) { wrong(table_, what, std::move(hint)); }

  std::string beside(std::string const& name) const {
    if (name == "-") return name;
    std::filesystem::path const path(name);
    return path.is_absolute() ? name : (folder_ / path).lexically_normal().string();
  }

  Expected<void> result() {
    for (auto const& [key, node] : table_) {
      std::string const name(key.str());
      if (std::find(known_.begin(), known_.end(), name) == known_.end()) {
        std::string hint = dialect::did_you_mean(name, known_);
        if (hint.empty()) hint = fmt::format("keys are {}", fmt::join(known_, ", "));
        wrong(node, fmt::format("unknown key '{}'", name), hint);
      }
    }
    if (failure_) return tl::unexpected(*failure_);
    return {};
  }

private:
  std::string file_;
  std::filesystem::path folder_;
  toml::table const& table_;
  std::vector<std::string> known_;
  std::optional<Failure> failure_;

  std::string profile_beside(std::string const& value) const {
    return value.find('/') != std::string::npos || value.ends_with(".toml") ? beside(value) : value;
  }

  toml::node const* find(char const* key) {
    known_.emplace_back(key);
    return table_.get(key);
  }

  void wrong(toml::node const& node, std::string const& what, std::string hint = {}) {
    if (failure_) return;
    auto const& at = node.source().begin;
    failure_ = Failure{ExitCode::usage, fmt::format("{}:{}:{}: {}", file_, at.line, at.column, what),
                       std::move(hint)};
  }
};

/// [stock] min and max, in the coordinates of the program.
void read_stock(JobReader& keys, transform::PartSetting& setting) {
  transform::Block block{};
  bool const low = keys.point("min", block.low), high = keys.point("max", block.high);
  if (!low || !high)
    return keys.refuse("the stock wants both 'min' and 'max'", "for example min = [-38, -21, -14]");
  for (int axis = 0; axis < 3; ++axis)
    if (!(block.low[axis] < block.high[axis]))
      return keys.refuse(fmt::format("the stock's {} ends before it begins", "XYZ"[axis]));
  setting.stock = block;
}

/// [offsets] G54 = [x, y, z] ...: where the work offsets' origins lie on the machine.
void read_offsets(JobReader& keys, transform::PartSetting& setting) {
  constexpr int last = motion::standard_work_offsets + motion::most_further_work_offsets;
  for (int system = 1; system <= last; ++system) {
    auto const name = motion::work_offset_name(system);
    if (system > motion::standard_work_offsets && !keys.has(name)) continue; // no key that is missed
    motion::Vec3 origin{};
    if (keys.point(name.c_str(), origin)) setting.offsets[system] = origin;
  }
}

} // namespace

Expected<void> add_job(std::string const& file, RewriteOptions& options) {
  std::ifstream stream(file, std::ios::binary);
  std::ostringstream content;
  // Inserting nothing counts as a failure, and an empty job is one that says nothing.
  if (stream.peek() != std::ifstream::traits_type::eof()) content << stream.rdbuf();
  if (!stream.is_open() || stream.bad() || !content)
    return tl::unexpected(Failure{ExitCode::files, file + ": cannot be read", {}});

  toml::table table;
  try {
    table = toml::parse(content.str(), file);
  } catch (toml::parse_error const& error) {
    auto const& at = error.source().begin;
    return wrong_usage(fmt::format("{}:{}:{}: {}", file, at.line, at.column, error.description()));
  }

  JobReader job(file, table);
  std::vector<std::string> const programs = job.texts("program");
  if (options.programs.empty()) {
    for (std::string const& program : programs)
      options.programs.push_back(job.beside(program));
  }
  // A destination on the command line replaces the job's, whichever of the two kinds it is.
  std::string output, out_dir;
  job.path("output", output);
  job.path("out-dir", out_dir);
  if (options.output.empty() && options.out_dir.empty() && !options.in_place) {
    options.output = output;
    options.out_dir = out_dir;
  }
  job.profiles("machine", options.setup.machines);
  job.profile("from", options.setup.from);
  job.profile("tools", options.setup.tools);
  // The command line's tools come last and so replace the job's of the same number.
  std::vector<std::string> tools = job.texts("tool");
  tools.insert(tools.end(), options.setup.tool.begin(), options.setup.tool.end());
  options.setup.tool = std::move(tools);
  job.text("finish", options.finish);
  job.text("max-stepdown", options.max_stepdown);
  job.text("min-stepdown", options.min_stepdown);
  job.flag("extend", options.extend);
  job.text("pass", options.pass);
  for (std::string const& stage : job.texts("skip"))
    options.skip.push_back(stage);
  for (std::string const& stage : job.texts("with"))
    options.with.push_back(stage);
  job.text("path-tol", options.path_tolerance);
  job.path("json", options.json);
  job.path("report", options.html);
  transform::PartSetting& setting = options.setting;
  job.inner("stock", [&](JobReader& keys) { read_stock(keys, setting); });
  job.inner("offsets", [&](JobReader& keys) { read_offsets(keys, setting); });
  job.inner("lengths", [&](JobReader& keys) { keys.lengths(setting.lengths); });
  job.inner("tool-map", [&](JobReader& keys) { keys.tool_numbers(setting.tool_numbers); });
  job.tables("target", [&](JobReader& keys) {
    TargetOptions target;
    target.said_by = keys.place();
    keys.text("pass", target.pass);
    keys.text("lines", target.lines);
    keys.text("tool", target.tool);
    keys.text("finish", target.finish);
    keys.text("max-stepdown", target.max_stepdown);
    keys.text("min-stepdown", target.min_stepdown);
    keys.choice("extend", target.extend);
    keys.flag("keep", target.keep);
    options.targets.push_back(std::move(target));
  });
  return job.result();
}

} // namespace restep::command
