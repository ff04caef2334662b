# Five fields a cycle, as a script of an afternoon takes them.
/^unit: / { unit = $2 }
/^counter: / { counter = $2 }
/^program: / { program = substr($0, 10) }
/^started: / { started = substr($0, 10) }
/^outcome: / { print unit "," counter "," program "," started "," substr($0, 10) }
