/** The token of this run of the program: taken out of the address, so that no screen, link or history shows it on. */

const TOKEN = "token";

/**
 * The token from the address, which is then without it; after a reload the one that this tab keeps.
 *
 * A tab's own storage belongs to this port alone, where a cookie would be sent to every port of the machine.
 */
export function takeToken(): string {
  const address = new URL(location.href);
  const given = address.searchParams.get(TOKEN);
  if (!given) return kept();
  try {
    sessionStorage.setItem(TOKEN, given);
  } catch {
    return given; // a browser that keeps nothing needs it in the address for a reload
  }
  address.searchParams.delete(TOKEN);
  history.replaceState(history.state, "", address);
  return given;
}

function kept(): string {
  try {
    return sessionStorage.getItem(TOKEN) ?? "";
  } catch {
    return "";
  }
}
