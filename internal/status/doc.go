// Package status is the bench in words: the status that scripts read as JSON
// and people as text, and the acts that people ask for.
//
// Page, local socket and commands all speak through it, so that a cause, a
// state or an act has one name everywhere. It decides nothing: whether an act
// is allowed is the controller's answer.
//
// Temperatures are given in both units or with the unit written; ages are
// seconds; moments are RFC 3339 in UTC. What never happened is null.
package status
