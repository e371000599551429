// Puts a newer page in the place of this one as soon as the server has it.
// What is the same in both stays as it is, so that the reader's place, what is
// unfolded and what has the focus stay too.
(() => {
  'use strict'

  const panel = () => document.getElementById('taut-watch')

  // kin tells whether one node can become the other.
  const kin = (a, b) => a.nodeName === b.nodeName && (a.id || '') === (b.id || '') && a.namespaceURI === b.namespaceURI

  function attributes (a, b) {
    const folds = a.localName === 'details' && a.dataset.fold === b.dataset.fold
    for (const name of a.getAttributeNames()) {
      if (!b.hasAttribute(name) && !(folds && name === 'open')) a.removeAttribute(name)
    }
    for (const name of b.getAttributeNames()) {
      if (a.getAttribute(name) !== b.getAttribute(name) && !(folds && name === 'open')) a.setAttribute(name, b.getAttribute(name))
    }
  }

  // patch makes a the same as b.
  function patch (a, b) {
    if (a.isEqualNode(b)) return
    if (a.nodeType !== Node.ELEMENT_NODE) {
      a.data = b.data
      return
    }
    attributes(a, b)
    const old = [...a.childNodes]
    const next = [...b.childNodes]
    while (old.length && next.length && old[0].isEqualNode(next[0])) {
      old.shift()
      next.shift()
    }
    let before = null
    while (old.length && next.length && old.at(-1).isEqualNode(next.at(-1))) {
      before = old.pop()
      next.pop()
    }
    const named = new Map(old.filter(n => n.id).map(n => [n.id, n]))
    const plain = old.filter(n => !n.id)
    const used = new Set()
    let at = old.length ? old[0] : before
    for (const n of next) {
      let from = n.id ? named.get(n.id) : null
      if (!n.id) {
        const i = plain.findIndex(o => kin(o, n))
        if (i >= 0 && i < 8) from = plain.splice(0, i + 1)[i]
      }
      if (!from || used.has(from) || !kin(from, n)) {
        a.insertBefore(n, at)
        continue
      }
      used.add(from)
      if (from === at) at = at.nextSibling
      else a.insertBefore(from, at)
      patch(from, n)
    }
    for (const o of old) if (!used.has(o)) o.remove()
  }

  // place remembers what stands at the top of the window.
  function place () {
    for (const y of [0.12, 0.3, 0.5, 0.75]) {
      const seen = document.elementsFromPoint(innerWidth / 3, innerHeight * y).find(e => e.closest('#taut-watch') === null)
      const at = seen && seen.closest('[id]')
      if (at && at !== document.body) return { id: at.id, node: seen, top: seen.getBoundingClientRect().top, idTop: at.getBoundingClientRect().top }
    }
    return null
  }

  function back (p) {
    if (!p) return
    let moved = 0
    const at = document.getElementById(p.id)
    if (p.node.isConnected) moved = p.node.getBoundingClientRect().top - p.top
    else if (at) moved = at.getBoundingClientRect().top - p.idTop
    if (Math.abs(moved) >= 1) scrollBy({ top: moved, behavior: 'instant' })
  }

  function put (m) {
    if (m.head !== panel().dataset.head) {
      location.reload()
      return
    }
    const p = scrollY > 0 ? place() : null
    patch(document.body, new DOMParser().parseFromString(m.page, 'text/html').body)
    document.title = m.title
    back(p)
  }

  // lost says in words that nobody answers; what is shown may be old.
  function lost (is) {
    panel().classList.toggle('taut-lost', is)
    document.getElementById('taut-lost').textContent = is
      ? 'No connection: `taut watch` has ended or can’t be reached. This page is not kept up to date.'
      : ''
  }

  addEventListener('DOMContentLoaded', () => {
    const live = new EventSource(location.pathname + '?live=' + encodeURIComponent(panel().dataset.version))
    live.addEventListener('page', e => put(JSON.parse(e.data)))
    live.onopen = () => lost(false)
    live.onerror = () => lost(true)
    addEventListener('pagehide', () => live.close())
    addEventListener('pageshow', e => { if (e.persisted) location.reload() })
  })
})()
