#pragma once

#include "dialect/profile.hpp"

#include <tl/expected.hpp>

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace restep::dialect {

/// One key of a profile and where its value comes from.
struct ProfileValue {
  std::string section; ///< empty for keys at the file's top; "tool 3" for those of a tool
  std::string key;
  std::string value;      ///< as TOML; empty when no file of the chain says it
  std::string file;       ///< the one that has the last word
  std::uint32_t line = 0; ///< in that file
  std::string remark;     ///< what stands behind the value, in that file or else in one it is based on
};

/// A profile with all that its bases say: what holds, and who says so.
struct ProfileView {
  ProfileKind kind = ProfileKind::dialect;
  std::string name, title;
  std::vector<std::string> files; ///< the profile's own first, then the one it is based on, and so on
  std::vector<ProfileValue> values;
  std::vector<ProfileError> errors; ///< as check_profile finds them
};

/// Looks at a profile by name or file. Names of another kind are not found.
tl::expected<ProfileView, ProfileError> view_profile(ProfileKind kind, std::string const& name_or_file);

/// The kind of a profile file: what its key `profile` says, else the folder it stands in, else what only one
/// kind has.
tl::expected<ProfileKind, ProfileError> kind_of_profile(std::string const& file);

/// The word for a kind in `profile = "..."`: dialect, machine or tools.
std::string_view word_for(ProfileKind kind);

/// Receives what is read while a profile and its bases are read, base first.
class ProfileTrace {
public:
  explicit ProfileTrace(ProfileView& view)
      : view_(view) {}

  void file(std::string const& name);
  /// A key that profiles of this kind can have.
  void known(std::string const& section, std::string const& key);
  /// A key that stands in the file, its value as TOML. Inline tables of one key add up along the chain, as
  /// the profiles' own do.
  void given(std::string const& section, std::string const& key, std::string const& value,
             std::uint32_t line);
  /// A tool takes the place of one of the same number.
  void forget(std::string const& section);

private:
  ProfileView& view_;
  std::string file_;
  std::vector<std::string> lines_; ///< of the file that is read

  ProfileValue& entry(std::string const& section, std::string const& key);
  std::string remark_at(std::uint32_t line) const;
};

} // namespace restep::dialect
